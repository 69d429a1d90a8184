"""What to know about the epoxy: times, heat, the scale, the shop's temperature, what runs off."""

from __future__ import annotations

from collections.abc import Iterator

from slabwright.findings import Finding
from slabwright.finish.pours import epoxies, greatest_batch, least_batch
from slabwright.finish.resin_results import Resin, Sort
from slabwright.job.epoxy_models import Epoxy
from slabwright.job.loaded import Job
from slabwright.quantities import Units, format_mass, format_volume
from slabwright.reference.mending import mending_figures

SHEET = "the epoxy's data sheet"
_MOST_NAMED = 6
_MUCH_LEFT = 0.7
"""A batch of which less than this share is poured leaves much in the cup."""


def resin_findings(job: Job, resin: Resin) -> tuple[Finding, ...]:
    """Checks of the epoxy; none where nothing is filled.

    Args:
        job: what is stated
        resin: places, pours and batches
    """
    units = job.stated.job.units
    found: list[Finding] = []
    casting, thin = epoxies(job)
    sheets: tuple[tuple[Sort, str, Epoxy], ...] = (("thin", "thin_epoxy", thin), ("casting", "epoxy", casting))
    for sort, key, epoxy in sheets:
        if any(place.sort == sort for place in resin.places):
            found += _time(key, epoxy)
            found += _temperature(key, epoxy)
            found += _scale(resin, sort, key, epoxy, units)
            found += _least(resin, sort, epoxy, units)
    found += _heat(resin, units)
    if resin.lost > 0.0:
        taped = [place.name for place in resin.places if place.loss > 0.0]
        where = ", ".join(taped) if len(taped) <= _MOST_NAMED else f"{len(taped)} places"
        loss = max(place.loss for place in resin.places)
        found.append(
            Finding(
                "finish/leaks",
                "note",
                f"{100 * loss:.0f} % of what is poured into {where} is reckoned to run off: "
                f"{format_volume(resin.lost, units)} in all.",
                "Tape underneath, press it down all round, and pour a little first; state [epoxy] leak_loss as your shop has it.",
            )
        )
    return tuple(found)


def _time(key: str, epoxy: Epoxy) -> Iterator[Finding]:
    if greatest_batch(epoxy) is None:
        working = epoxy.working_minutes * epoxy.slower
        yield Finding(
            "finish/no-time-to-pour",
            "stop",
            f"{epoxy.name}: mixing takes {epoxy.mixing_minutes:g} minutes, and the mix stays pourable for {working:.0f}: "
            "no batch can be poured in time.",
            f"Take a slower hardener or a cooler shop and state [{key}] working_minutes; or mixing_minutes, if you are quicker.",
            SHEET,
        )


def _temperature(key: str, epoxy: Epoxy) -> Iterator[Finding]:
    shop = epoxy.shop_temperature
    at = epoxy.sheet_temperature if shop is None else shop
    cold = epoxy.coldest is not None and at < epoxy.coldest
    warm = epoxy.warmest is not None and at > epoxy.warmest
    if cold or warm:
        limit = epoxy.coldest if cold else epoxy.warmest
        yield Finding(
            "finish/epoxy-temperature",
            "stop",
            f"{epoxy.name}: the shop has {at:g} °C, and the sheet allows {'no less' if cold else 'no more'} than {limit:g} °C.",
            f"{'Warm' if cold else 'Cool'} shop, slab and epoxy to {limit:g} °C until it is hard, "
            f"and state [{key}] shop_temperature.",
            SHEET,
        )
    elif shop is not None and epoxy.temperature_factor is None and abs(shop - epoxy.sheet_temperature) >= 3.0:
        colder = shop < epoxy.sheet_temperature
        yield Finding(
            "finish/epoxy-times",
            "caution",
            f"{epoxy.name}: the times hold for {epoxy.sheet_temperature:g} °C, and the shop has {shop:g} °C: it "
            + ("hardens later than told." if colder else "goes off sooner than told."),
            f"State [{key}] temperature_factor, if the sheet gives one; else try a cup first.",
            SHEET,
        )


def _scale(resin: Resin, sort: Sort, key: str, epoxy: Epoxy, units: Units) -> Iterator[Finding]:
    most = mending_figures().pouring["ratio_error"]
    off = max((batch.off_ratio for batch in resin.batches if batch.sort == sort), default=0.0)
    if off > 2.0 * most:
        yield Finding(
            "finish/small-batch",
            "caution",
            f"{epoxy.name}: on a scale of whole grams the ratio of the smallest batch is off by {100 * off:.0f} %.",
            f"Mix at least {least_batch(epoxy):.0f} g at once, or take a scale of tenths; "
            f"[{key}] greatest_batch keeps it smaller now.",
            mending_figures().sources["pouring"],
        )


def _least(resin: Resin, sort: Sort, epoxy: Epoxy, units: Units) -> Iterator[Finding]:
    least = least_batch(epoxy)
    small = [
        batch.number
        for batch in resin.batches
        if batch.sort == sort
        and batch.grams == least
        and sum(part.grams for part in batch.portions) < _MUCH_LEFT * least
    ]
    if small:
        numbers = ", ".join(str(number) for number in small)
        yield Finding(
            "finish/least-batch",
            "note",
            f"{epoxy.name}: batch{'' if len(small) == 1 else 'es'} {numbers} {'is' if len(small) == 1 else 'are'} larger than "
            f"the places ask for; below {least:.0f} g a gram of the scale shifts the ratio too much.",
            "Keep small dents and test cups ready for what is left, or weigh on a scale of tenths and mix less.",
            mending_figures().sources["pouring"],
        )


def _heat(resin: Resin, units: Units) -> Iterator[Finding]:
    limits = mending_figures().pouring
    batch = max((batch.grams for batch in resin.batches), default=0) / 1000.0
    if batch > limits["hot_batch"]:
        yield Finding(
            "finish/hot-batch",
            "caution",
            f"A batch of {format_mass(batch, units)} runs hot in a deep cup, and goes off sooner than the sheet says.",
            f"Mix in a wide tray, pour at once, or state [epoxy] greatest_batch = {limits['hot_batch']:g}.",
            limits_source(),
        )
    largest = max(
        (sum(each.volume for each in resin.batches if each.pour == pour.number) for pour in resin.pours), default=0.0
    )
    if largest > limits["attended"] * 1e6:
        yield Finding(
            "finish/pour-attended",
            "caution",
            f"One pour takes {format_volume(largest, units)}: it gives off heat.",
            "Stay with it until it has cooled, and keep it from being the day's last work.",
            limits_source(),
        )


def limits_source() -> str:
    """Whose limits of heat they are."""
    return mending_figures().sources["pouring"]
