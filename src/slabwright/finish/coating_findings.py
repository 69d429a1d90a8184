"""What there is to say about a system of coats: the shop's air, missed windows, pot life, film, invented figures."""

from __future__ import annotations

from datetime import datetime

from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.finish.coating_results import CoatPlan
from slabwright.finish.windows import clock_words, day_words, hours_words
from slabwright.job.finish_models import Coating
from slabwright.quantities import Units, format_length
from slabwright.reference.coatings import coating_rules, dew_point


def degrees(celsius: float, units: Units) -> str:
    """A temperature as a person reads it."""
    return f"{celsius:.1f}".removesuffix(".0") + " °C" if units == "metric" else f"{celsius * 1.8 + 32.0:.0f} °F"


def film_words(micrometres: float, units: Units) -> str:
    """A film as a person reads it: micrometres, or mils."""
    return f"{micrometres:.0f} µm" if units == "metric" else f"{micrometres / 25.4:.1f} mil"


def climate_findings(
    coating: Coating,
    temperature: float | None,
    humidity: float | None,
    steel: float | None,
    units: Units,
    *,
    dampest: float | None = None,
) -> tuple[Finding, ...]:
    """Whether the shop's air, and the steel in it, are within the sheet.

    Args:
        coating: the sheet
        temperature: of the air; None: not stated [degrees Celsius]
        humidity: of the air; None: not stated [%]
        steel: temperature of the steel that is coated; None: it is wood, or not known [degrees Celsius]
        units: of the job
        dampest: greatest humidity where the sheet states none [%]
    """
    more, found, source = coating.more, [], "the coating's data sheet"
    dampest = more.dampest if more.dampest is not None else dampest
    coldest, warmest = more.coldest, more.warmest
    for what, at in (("The shop's air", temperature), ("The steel", steel)):
        if at is None or (what == "The steel" and steel == temperature):
            continue
        if coldest is not None and at < coldest:
            found.append(("finish/too-cold", f"{what} has {degrees(at, units)}; {coating.name} wants at least "
                          f"{degrees(coldest, units)}.", f"Warm shop, piece and cans to {degrees(coldest, units)} and"
                          " keep them there until it has cured."))  # fmt: skip
        if warmest is not None and at > warmest:
            found.append(("finish/too-warm", f"{what} has {degrees(at, units)}; {coating.name} wants at most "
                          f"{degrees(warmest, units)}.", "Coat in the cool of the morning, or cool the shop."))  # fmt: skip
    if humidity is not None:
        if dampest is not None and humidity > dampest:
            found.append(("finish/too-damp", f"The shop's air has {humidity:g} % humidity; {coating.name} wants at most "
                          f"{dampest:g} %.", _drier(temperature, humidity, dampest, warmest, units)))  # fmt: skip
        if more.driest is not None and humidity < more.driest:
            found.append(("finish/too-dry", f"The shop's air has {humidity:g} % humidity; {coating.name} wants at least "
                          f"{more.driest:g} %.", f"Damp the air to {more.driest:g} %, no water on the piece."))  # fmt: skip
    return tuple(Finding(code, "stop", message, remedy, source) for code, message, remedy in found)


def _drier(temperature: float | None, humidity: float, dampest: float, warmest: float | None, units: Units) -> str:
    """The warmth at which the same air is dry enough, tried in the formula, where the sheet allows it."""
    if temperature is not None and -20.0 <= temperature <= 50.0 and humidity > 0.0 and dampest > 0.0:
        dew = dew_point(temperature, humidity)
        for tenths in range(1, 151):
            warmer = temperature + tenths / 10.0
            if dew_point(warmer, dampest) >= dew:
                if warmest is None or warmer <= warmest:
                    return f"Dry the air; or warm the shop to {degrees(warmer, units)}: the same air then has {dampest:g} %."
                break
    return f"Dry the air to {dampest:g} %, or wait for a drier day."


def dew_findings(air: float, humidity: float, steel: float, units: Units) -> tuple[Finding, ...]:
    """Whether the steel stands well enough above the dew point of the air."""
    rules = coating_rules()
    found = []
    dew = dew_point(air, humidity)
    if steel < dew + rules.dew_margin - 1e-9:
        found.append(
            Finding(
                "finish/dew",
                "stop",
                f"Steel of {degrees(steel, units)} is too near the dew point of the air, {degrees(dew, units)}: water settles"
                " on it under the paint.",
                f"Warm the steel to {degrees(dew + rules.dew_margin, units)} or more, or dry the air.",
                rules.sources["dew"],
            )
        )
    return tuple(found)


def pot_findings(coat: CoatPlan, cooler: float | None, units: Units) -> tuple[Finding, ...]:
    """A batch that cannot be used up: induction eats the pot life, which a cooler shop may mend."""
    usable = coat.batches.usable
    if usable is None or usable > 0.0:
        return ()
    return (
        Finding(
            "finish/pot-life",
            "stop",
            f"{coat.coating}: its pot life of {coat.pot_life:.0f} min at this temperature leaves no time after induction.",
            f"Coat at {degrees(cooler, units)} or cooler."
            if cooler is not None
            else "Take one with a longer pot life.",
            COMMON_PRACTICE,
        ),
    )


def window_findings(
    coat: CoatPlan, stated: tuple[float, float | None], done: datetime, better: datetime | None, units: Units
) -> tuple[Finding, ...]:
    """A window that passes while nobody is in the shop.

    Args:
        coat: the coat that is recoated
        stated: the window that was meant, hours after it is on
        done: when it is on
        better: a later start that meets the window; None: none was found
        units: of the job
    """
    window = coat.next
    if window is None or not window.missed:
        return ()
    least, greatest = stated
    assert greatest is not None
    began = datetime.fromisoformat(coat.starts or "")
    how = {"after scuffing": "Scuff it and coat", "after sanding": "Sand it flat and coat"}[window.way]
    remedy = f"{how} {window.words}: the plan does so."
    if better is not None:
        at = f"{clock_words(better, 24 if units == 'metric' else 12)} {day_words(better, began)}"
        later = f"{how[:1].lower()}{how[1:]} {window.words}"
        remedy = f"Put this coat on at {at}: the next one then meets its window. Or {later}, as planned."
    return (
        Finding(
            "finish/window-missed",
            "caution",
            f"Coat {coat.number}, {coat.coating}: the next one would go on {hours_words(least)} to {hours_words(greatest)} after"
            " it, and the shop is closed then.",
            remedy,
            "the coating's data sheet",
        ),
    )


def film_findings(film: float | None, allowed: float, stated: bool, units: Units) -> tuple[Finding, ...]:
    """Whether the steel's paint is thicker than pockets and slots were laid out for."""
    if film is None or film / 1000.0 <= allowed + 1e-9:
        return ()
    said = "[top] paint says" if stated else "pockets and slots were laid out for"
    return (
        Finding(
            "finish/film-over-allowance",
            "caution",
            f"The coats on the steel make {film_words(film, units)}; {said} {film_words(allowed * 1000.0, units)}.",
            f"State [top] paint = {film / 1000.0:.2f} mm: {format_length(film / 1000.0 - allowed, units)} more on each wall."
            if units == "metric"
            else f'State [top] paint = "{film / 25400.0:.4f} in".',
            COMMON_PRACTICE,
        ),
    )


def invented_finding(names: tuple[str, ...]) -> tuple[Finding, ...]:
    """That example figures are used."""
    if not names:
        return ()
    quoted = " and ".join(f"'{name}'" for name in names)
    return (
        Finding(
            "finish/example-figures",
            "caution",
            f"The shop file states no {quoted}: invented example figures are used.",
            "State your data sheet's figures in shop.toml, [[coatings]], before you mix or buy.",
            COMMON_PRACTICE,
        ),
    )
