"""Drawings of the finish: the coats as a strip per day, a mixing card, and how the finish hardens."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from slabwright.finish.coating_film import PartAmount
from slabwright.finish.coating_results import CoatPlan, SystemPlan
from slabwright.finish.windows import Calendar, date_words, hours_words
from slabwright.quantities import Units
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT
from slabwright.sheets.context import Context
from slabwright.sheets.picture import GREAT, MIDDLE, TEXT, THICK, THIN, Picture, path_of, text_width
from slabwright.sheets.words import Words, plain

At = Callable[[datetime, datetime], float]
"""Where a moment stands on the strip of a day [mm]."""
CARD = 62.0
"""Height of a mixing card [mm]."""
_LANE, _LANE_MOST, _DAY_GAP, _SCALE_HIGH, _DAY_WIDE = 5.2, 9.0, 3.0, 6.0, 37.0
_MOST_DAYS = 9
_MOST_BOXES = 8
_LABEL = {"wood": "Wood", "steel": "Steel"}


def film_text(micrometres: float | None, words: Words) -> str:
    """A film as a comb gauge reads it: micrometres, or mils."""
    if micrometres is None:
        return "none"
    return f"{micrometres:.0f} µm" if words.metric else f"{micrometres / 25.4:.1f} mil"


def degrees_text(celsius: float, words: Words) -> str:
    """A temperature as the shop's thermometer reads it."""
    return f"{celsius:.0f} °C" if words.metric else f"{celsius * 1.8 + 32.0:.0f} °F"


def measure(litres: float | None, kilograms: float | None, words: Words) -> str:
    """A volume or a mass on the bench; what is known of both."""
    if kilograms is not None and litres is None:
        return words.grams(kilograms)
    return words.fill((litres or 0.0) * 1e6)


def shop_calendar(context: Context) -> Calendar:
    """The shop's hours as the job states them."""
    finish = context.plan.job.stated.finish
    return Calendar(*finish.hours, frozenset(finish.closed)) if finish is not None else Calendar()


def day_strips(
    systems: Sequence[SystemPlan], calendar: Calendar, width: float, room: float, units: Units
) -> Picture | None:
    """A strip for each day on which a coat goes on: coats, their numbers, and the windows that they wait for.

    Args:
        systems: of which some have a start
        calendar: when somebody is in the shop
        width: of the drawing [mm]
        room: its greatest height, as far as the days go into it [mm]
        units: of the job, for the hours of the day

    Returns:
        The drawing; None where no start is stated.
    """
    timed = [system for system in systems if system.coats[0].starts is not None]
    days = sorted({_moment(coat.starts).date() for system in timed for coat in system.coats})
    if not days:
        return None
    least = len(timed) * _LANE + _DAY_GAP
    shown = days[: max(1, min(_MOST_DAYS, int((room - _SCALE_HIGH - 5.0) / least)))]
    tall = min(_LANE_MOST, max(_LANE, ((room - _SCALE_HIGH) / len(shown) - _DAY_GAP) / len(timed)))
    high = len(timed) * tall + _DAY_GAP
    drawing = Picture(width, _SCALE_HIGH + len(shown) * high + (5.0 if len(days) > len(shown) else 0.0))
    left, wide = _DAY_WIDE, width - _DAY_WIDE - 2.0
    first = max(0.0, min(calendar.opens - 1.0, 7.0))
    last = min(24.0, max(calendar.closes + 1.0, 20.0))

    def at(moment: datetime, day: datetime) -> float:
        hours = (moment - day).total_seconds() / 3600.0
        return left + wide * (min(max(hours, first), last) - first) / (last - first)

    for hour in range(round(first + 0.49), round(last - 0.49) + 1):
        x = left + wide * (hour - first) / (last - first)
        if hour % 2 == 0:
            said = f"{hour}:00" if units == "metric" else f"{(hour + 11) % 12 + 1} {'am' if hour < 12 else 'pm'}"
            drawing.text(x, 3.6, said, anchor="middle", fill=SOFT, size=0.85 * TEXT)
        drawing.line(x, 4.4, x, 5.6, weight=THIN)
    for row, each in enumerate(shown):
        day = datetime(each.year, each.month, each.day)
        top = _SCALE_HIGH + row * high
        drawing.text(0.0, top + tall / 2 + 1.3, _short_day(day), weight=600)
        _closed(drawing, calendar, day, at, (left, top, left + wide, top + len(timed) * tall))
        for lane, system in enumerate(timed):
            lane_top = top + lane * tall
            drawing.rectangle(left, lane_top, wide, tall, weight=THIN)
            drawing.text(
                left - 1.5, lane_top + tall / 2 + 1.2, _LABEL[system.on], anchor="end", fill=SOFT, size=0.85 * TEXT
            )
            _day_of(drawing, system, day, at, lane_top, tall)
    if len(days) > len(shown):
        drawing.text(0.0, drawing.height - 1.0, f"{len(days) - len(shown)} more days: see the table.", fill=SOFT)
    return drawing


def _moment(stamp: str | None) -> datetime:
    assert stamp is not None
    return datetime.fromisoformat(stamp)


def _short_day(day: datetime) -> str:
    weekday, date, month = date_words(day).split(" ")
    return f"{weekday[:3]} {date} {month[:3]}"


def _closed(
    drawing: Picture,
    calendar: Calendar,
    day: datetime,
    at: At,
    box: tuple[float, float, float, float],
) -> None:
    """Hatch the hours in which nobody is there."""
    span = calendar.span(day)
    x0, top, x1, foot = box
    closed = [(x0, x1)] if span is None else [(x0, at(span[0], day)), (at(span[1], day), x1)]
    for start, end in closed:
        if end - start > 0.2:
            shape = path_of([(start, top), (end, top), (end, foot), (start, foot)], close=True)
            drawing.hatch(shape, (start, top, end, foot), step=1.4, stroke=SOFT)


def _day_of(drawing: Picture, system: SystemPlan, day: datetime, at: At, top: float, tall: float) -> None:
    """The coats and windows of one system on one day."""
    for coat in system.coats:
        window = coat.next
        if window is not None and window.begin is not None and _moment(window.begin).date() == day.date():
            x0, x1 = at(_moment(window.begin), day), at(_moment(window.begin_by), day)
            drawing.rectangle(
                x0, top + 0.9, max(x1 - x0, 0.8), tall - 1.8, stroke=CHOSEN, weight=THICK, fill="none", dash="1.4 0.8"
            )
    for coat in system.coats:
        if _moment(coat.starts).date() == day.date():
            x0, x1 = at(_moment(coat.starts), day), at(_moment(coat.ends), day)
            drawing.rectangle(x0, top + 0.5, max(x1 - x0, 4.2), tall - 1.0, fill=INK)
            drawing.text(
                x0 + max(x1 - x0, 4.2) / 2,
                top + tall / 2 + 1.3,
                str(coat.number),
                anchor="middle",
                fill=PAPER,
                weight=700,
            )


def mixing_card(system: SystemPlan, coat: CoatPlan, width: float, words: Words) -> Picture:
    """What one batch is mixed of, in large type: components, thinner, how long there is, what the comb gauge reads.

    Args:
        system: that the coat is of
        coat: with its batches
        width: of the card [mm]
        words: how figures are written
    """
    card = Picture(width, CARD)
    card.rectangle(0.3, 0.3, width - 0.6, CARD - 0.6, weight=THICK)
    fit = int((width - 6.0) / 1.75)
    card.text(3.0, 6.0, plain(f"Coat {coat.number} on the {system.on}: {coat.coating}", fit), weight=700)
    count = coat.batches.count
    several = f"{count} batches alike" if count > 1 else "One batch"
    card.text(3.0, 11.2, plain(f"{several}, {words.area(coat.area / count)} each" if count > 1
                               else f"{several}, {words.area(coat.area)}", fit))  # fmt: skip
    card.line(0.3, 13.4, width - 0.3, 13.4, weight=THIN)
    y = 22.5
    by_mass = coat.sheet.mix_by == "mass" and coat.sheet.two_parts
    for part in coat.batches.parts:
        if part.name == "thinner":
            y -= 2.5
        _draw_part(card, part, y, width, by_mass, words)
        y += 10.5
    lines = _card_lines(coat, words)
    for number, line in enumerate(lines):
        card.text(3.0, CARD - 8.2 - 4.6 * (len(lines) - 1 - number), plain(line, fit))
    boxes = min(count, _MOST_BOXES)
    for box in range(boxes):
        card.rectangle(width - 4.0 - 5.0 * (boxes - box), CARD - 5.6, 3.6, 3.6, weight=MIDDLE)
    card.text(3.0, CARD - 2.6, "Mixed at  ______", fill=SOFT)
    return card


def _draw_part(card: Picture, part: PartAmount, y: float, width: float, by_mass: bool, words: Words) -> None:
    """One component: its letter, what is measured out in large type, and the other measure small."""
    thinner = part.name == "thinner"
    first = words.grams(part.mass) if by_mass and part.mass is not None else measure(part.volume, part.mass, words)
    great, _, rest = first.partition(" (")
    size = TEXT * 1.5 if thinner else min(GREAT, (width - 40.0) / (0.55 * len(great)))
    label = "Thinner" if thinner else part.name or "Use"
    card.text(3.0, y, label, weight=700, size=TEXT * (1.0 if thinner or not part.name else 1.6))
    card.text(width * 0.24, y, great, weight=700, size=size, fill=CHOSEN)
    other = rest.rstrip(")")
    if not thinner and not other and part.mass is not None and part.volume is not None:
        other = words.fill(part.volume * 1e6) if by_mass else words.grams(part.mass)
    if other:
        card.text(width - 3.0, y, plain(other, 18), anchor="end", fill=SOFT)


def _card_lines(coat: CoatPlan, words: Words) -> list[str]:
    lines = []
    if coat.batches.usable is not None and coat.pot_life is not None:
        stand = coat.sheet.more.induction
        waits = f"Stands {stand:.0f} min; used" if stand > 0.0 else "Used"
        lines.append(f"{waits} up {max(0.0, coat.batches.usable + stand):.0f} min after mixing.")
        lines.append(f"Pot life {coat.pot_life:.0f} min, less in a deep cup.")
    if coat.wet_film is not None:
        lines.append(f"Comb gauge: {film_text(coat.wet_film, words)} wet, {film_text(coat.film, words)} dry.")
    if coat.sheet.kind == "oil":
        lines.append("Worked in; all that stands is wiped off.")
    return lines


def hardening(system: SystemPlan, width: float, words: Words) -> Picture:
    """How the last coat hardens, as a bar from that day to the day from which it is used as it pleases.

    Args:
        system: on the wood, or on the steel
        width: of the drawing [mm]
        words: how figures are written
    """
    drawing = Picture(width, 25.0)
    last = system.coats[-1]
    drawing.text(0.0, 4.2, f"{_LABEL[system.on]}: {plain(last.coating, 40)}", weight=700)
    x0, x1 = 1.0, width - 1.0
    middle = x0 + 0.35 * (x1 - x0)
    shape = path_of([(x0, 8.0), (middle, 8.0), (middle, 14.0), (x0, 14.0)], close=True)
    drawing.hatch(shape, (x0, 8.0, middle, 14.0), step=1.3, stroke=INK)
    drawing.hatch(
        path_of([(middle, 8.0), (x1, 8.0), (x1, 14.0), (middle, 14.0)], close=True),
        (middle, 8.0, x1, 14.0), step=3.0, stroke=SOFT,
    )  # fmt: skip
    drawing.rectangle(x0, 8.0, x1 - x0, 6.0, weight=THICK)
    if last.ends is not None and system.usable is not None:
        ends, usable = _moment(last.ends), _moment(system.usable)
        third = ends + (usable - ends) / 3
        said = (
            f"last coat {_short_day(ends)}",
            f"{_short_day(third + timedelta(hours=12))}",
            f"from {_short_day(usable)}",
        )
    else:
        said = ("last coat", f"after {hours_words(system.cure / 3)}", f"after {hours_words(system.cure)}")
    drawing.text(x0, 18.6, said[0])
    drawing.text(middle, 18.6, said[1], anchor="middle")
    drawing.text(x1, 18.6, said[2], anchor="end", weight=700)
    below = ("leave it alone", "dry things only, lift, do not push", "use it as you like")
    if text_width(" ".join(below)) < width - 8.0:
        drawing.text(x0, 23.2, below[0], fill=SOFT)
        drawing.text((middle + x1) / 2, 23.2, below[1], anchor="middle", fill=SOFT)
        drawing.text(x1, 23.2, below[2], anchor="end", fill=SOFT)
    return drawing
