"""From areas and data sheets to the coats: amounts, batches, cans, and when each goes on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Literal

from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.finish.areas import Areas
from slabwright.finish.batches import CanOrder, batches, cans_to_buy
from slabwright.finish.coating_film import coverage, parts_of, practical, wet_film
from slabwright.finish.coating_findings import (
    climate_findings,
    dew_findings,
    film_findings,
    invented_finding,
    pot_findings,
    window_findings,
)
from slabwright.finish.coating_results import CoatPlan, SystemPlan
from slabwright.finish.coating_systems import AskedCoat, asked_coats, wood_listed
from slabwright.finish.coating_times import times_at
from slabwright.finish.windows import Calendar, better_start, next_window, stamp, ways_from, window_of
from slabwright.job.finish_models import Finish
from slabwright.job.loaded import Job
from slabwright.job.top_models import PAINT
from slabwright.quantities import Units
from slabwright.reference.coatings import coating_rules, dew_point

_LONG_PAST = 366
"""A start that lies more days back than this is a slip of the year."""

USUAL_TEMPERATURE = 20.0
"""Of a shop that states none [degrees Celsius]: common practice."""
_SQUARE_METRE = 1e6


def coating_plan(job: Job, areas: Areas) -> tuple[tuple[SystemPlan, ...], tuple[Finding, ...]]:
    """The systems of coats on the wood and on the steel.

    Args:
        job: with `[finish]`, or words in `[piece] finish` that name a coating; and the shop's coatings
        areas: what is coated

    Returns:
        A system for the wood and one for the steel, as far as they are stated and there is something to coat; and what there is
        to say.

    Raises:
        SlabwrightError: a coating is not known.
    """
    finish = job.stated.finish or Finish()
    found: list[Finding] = []
    listed, words = wood_listed(job)
    if words is not None:
        found.append(_not_known(words))
    wood = asked_coats(listed, job.shop.coatings, "finish.wood")
    steel = asked_coats(finish.steel, job.shop.coatings, "finish.steel")
    systems: list[SystemPlan] = []
    for on, asked in (("wood", wood), ("steel", steel)):
        if asked and (areas.wood if on == "wood" else areas.steel) > 0.0:
            system, more = _system(job, areas, "wood" if on == "wood" else "steel", asked)
            systems.append(system)
            found += more
    found += invented_finding(tuple(dict.fromkeys(name for system in systems for name in system.invented)))
    if areas.steel > 0.0 and not steel:
        found.append(_bare_steel())
    found += _past(job, finish)
    if any(surface.name == "bores" for surface in areas.surfaces) and wood:
        found.append(_bores_first(len(wood)))
    return tuple(systems), tuple(found)


def litres_of(asked: AskedCoat, areas: Areas, on: Literal["wood", "steel"]) -> tuple[float, float, float]:
    """What a coat takes [l], its coverage without losses [m2/l], and the loss."""
    sheet, more = asked.sheet, asked.sheet.more
    loss = more.transfer_loss if more.transfer_loss is not None else coating_rules().put_on[sheet.put_on].loss
    whole = (areas.wood if on == "wood" else areas.steel) / _SQUARE_METRE
    if sheet.oil is not None:
        end = areas.wood_end / _SQUARE_METRE if on == "wood" else 0.0
        along = sheet.oil.first if asked.of_kind == 0 else sheet.oil.second
        without = (whole - end) / along + end / sheet.oil.end_grain
        covers = whole / without
    else:
        if sheet.coverage is not None:
            covers = sheet.coverage
        else:
            assert more.solids is not None and more.film is not None  # the model holds that one of the two is stated
            covers = coverage(more.solids, more.film)
    return whole / practical(covers, loss), covers, loss


def _system(
    job: Job, areas: Areas, on: Literal["wood", "steel"], asked: Sequence[AskedCoat]
) -> tuple[SystemPlan, tuple[Finding, ...]]:
    finish = job.stated.finish or Finish()
    units = job.stated.job.units
    temperature = finish.temperature if finish.temperature is not None else USUAL_TEMPERATURE
    metal = finish.steel_temperature if finish.steel_temperature is not None else temperature
    calendar = Calendar(*finish.hours, frozenset(finish.closed))
    start = finish.start if on == "wood" or finish.steel_start is None else finish.steel_start
    coats = [_coat(number, each, areas, on, temperature) for number, each in enumerate(asked, start=1)]
    timed, found = _timed(coats, asked, start, temperature, calendar, units)
    for sheet in {each.sheet.name: each.sheet for each in asked}.values():
        found += climate_findings(
            sheet,
            finish.temperature,
            finish.humidity,
            finish.steel_temperature if on == "steel" else None,
            units,
            dampest=coating_rules().dew_dampest if on == "steel" else None,
        )
    humidity = finish.humidity
    dew = dew_point(temperature, humidity) if humidity and temperature <= 60.0 else None
    if on == "steel" and dew is not None and humidity is not None:
        found += dew_findings(temperature, humidity, metal, units)
    for coat in timed:
        found += pot_findings(coat, _cooler(coat, temperature), units)
    films = [coat.film for coat in timed]
    film = sum(each for each in films if each is not None) if all(each is not None for each in films) else None
    if on == "steel":
        top = job.stated.top
        found += film_findings(film, top.paint if top is not None else PAINT, "top.paint" in job.where, units)
    cure = times_at(asked[-1].sheet, temperature).cure
    last = timed[-1].ends
    system = SystemPlan(
        on=on,
        coats=tuple(timed),
        film=film,
        cans=_cans(timed),
        temperature=temperature,
        humidity=humidity,
        dew_point=dew,
        cure=cure,
        usable=stamp(datetime.fromisoformat(last) + timedelta(hours=cure)) if last is not None else None,
        invented=tuple(dict.fromkeys(each.sheet.name for each in asked if each.invented)),
    )
    return system, tuple(dict.fromkeys(found))


def _coat(number: int, asked: AskedCoat, areas: Areas, on: Literal["wood", "steel"], temperature: float) -> CoatPlan:
    """One coat, not yet in the calendar."""
    sheet, more = asked.sheet, asked.sheet.more
    times = times_at(sheet, temperature)
    area = areas.wood if on == "wood" else areas.steel
    litres, covers, loss = litres_of(asked, areas, on)
    rate = more.square_metres_per_hour or coating_rules().put_on[sheet.put_on].rate
    minutes = area / _SQUARE_METRE / rate * 60.0
    film = more.film if sheet.kind == "paint" else None
    return CoatPlan(
        number=number,
        coating=sheet.name,
        put_on=sheet.put_on,
        area=area,
        film=film,
        wet_film=wet_film(film, more.solids, more.thinner) if film is not None and more.solids is not None else None,
        coverage=covers,
        loss=loss,
        amount=litres,
        parts=parts_of(sheet, litres),
        minutes=minutes,
        pot_life=times.pot_life,
        batches=batches(sheet, litres, minutes, times.pot_life),
        starts=None,
        ends=None,
        touch_dry=times.touch_dry,
        next=None,
        sheet=sheet,
    )


def _timed(
    coats: Sequence[CoatPlan],
    asked: Sequence[AskedCoat],
    start: datetime | None,
    temperature: float,
    calendar: Calendar,
    units: Units,
) -> tuple[list[CoatPlan], list[Finding]]:
    """The coats in the calendar, and the windows that are missed."""
    found: list[Finding] = []
    timed: list[CoatPlan] = []
    begins = calendar.next_start(start, coats[0].minutes) if start is not None else None
    if start is not None and begins is not None and begins != start:
        found.append(_not_open(start, begins))
    until: datetime | None = None
    for index, (coat, each) in enumerate(zip(coats, asked, strict=True)):
        done = begins + timedelta(minutes=coat.minutes) if begins is not None else None
        if begins is not None and done is not None:
            coat = replace(coat, starts=stamp(begins), ends=stamp(done))
        if index + 1 < len(coats):
            times, following = times_at(each.sheet, temperature), coats[index + 1].minutes
            window, after = next_window(times, each.then, done, following, calendar, 24 if units == "metric" else 12)
            coat = replace(coat, next=window)
            if window.missed and begins is not None and done is not None:
                better = better_start(
                    times, each.then, begins, until, coat.minutes, following, calendar, first=index == 0
                )
                meant = window_of(times, ways_from(each.then)[0])
                found += window_findings(coat, meant, done, better, units)
            until = datetime.fromisoformat(window.closes) if window.closes is not None else None
            begins = after
        timed.append(coat)
    return timed, found


def _cans(coats: Sequence[CoatPlan]) -> tuple[CanOrder, ...]:
    """What is bought for all coats of each coating together."""
    wanted: dict[str, float] = {}
    sheets = {coat.coating: coat.sheet for coat in coats}
    for coat in coats:
        wanted[coat.coating] = wanted.get(coat.coating, 0.0) + coat.amount
    return tuple(
        CanOrder(name, can.size, count, can.price * count if can.price is not None else None)
        for name, litres in wanted.items()
        for can, count in cans_to_buy(sheets[name].cans, litres)
    )


def _cooler(coat: CoatPlan, temperature: float) -> float | None:
    """The warmest whole degree, within the sheet, at which a quarter of an hour is left of the pot life after induction."""
    least = coat.sheet.more.coldest if coat.sheet.more.coldest is not None else 5.0
    for degree in range(int(temperature), int(least) - 1, -1):
        life = times_at(coat.sheet, float(degree)).pot_life
        usable = batches(coat.sheet, coat.amount, coat.minutes, life).usable
        if degree >= least and (usable is None or usable >= 15.0):
            return float(degree)
    return None


def _not_known(words: str) -> Finding:
    return Finding(
        "finish/not-known",
        "caution",
        f"[piece] finish = '{words[:60]}' names no coating that is stated: amounts and windows are not worked out.",
        "State it in shop.toml, [[coatings]], under that name; or list the coats in [[finish.wood]].",
        COMMON_PRACTICE,
    )


def _bare_steel() -> Finding:
    return Finding(
        "finish/bare-steel",
        "note",
        "No coats are stated for the steel.",
        "State [[finish.steel]] coating = ..., in the order in which they go on.",
        COMMON_PRACTICE,
    )


def _past(job: Job, finish: Finish) -> list[Finding]:
    """Starts that lie before the job's own date."""
    try:
        today = date.fromisoformat(job.stated.job.date)
    except ValueError:  # it may be left out, or be words
        return []
    found = []
    for key, start in (("start", finish.start), ("steel_start", finish.steel_start)):
        if start is not None and start.date() < today:
            slip = (today - start.date()).days > _LONG_PAST
            found.append(
                Finding(
                    "finish/start-past",
                    "stop" if slip else "caution",
                    f"[finish] {key} = {stamp(start).replace('T', ', ')} lies before the job's date, {today.isoformat()}"
                    + (": a slip." if slip else "."),
                    f"State {key} anew; or, where it is coated already, leave it: the windows count from it.",
                    COMMON_PRACTICE,
                )
            )
    return found


def _not_open(start: datetime, begins: datetime) -> Finding:
    return Finding(
        "finish/not-open",
        "caution",
        f"The first coat cannot be put on from {stamp(start).replace('T', ', ')} within the shop's hours: it is planned from"
        f" {stamp(begins).replace('T', ', ')}.",
        f'State start = "{stamp(begins)}", or the hours in which somebody is there: [finish] opens, closes, closed.',
        COMMON_PRACTICE,
    )


def _bores_first(coats: int) -> Finding:
    before = "before it" if coats == 1 else "before the last coat"
    return Finding(
        "finish/holes-first",
        "note",
        f"Holes for outlets and cables are cut {before}, so that their walls are coated too.",
        "Cut, ease and dust them off, then put on the last coat.",
        COMMON_PRACTICE,
    )
