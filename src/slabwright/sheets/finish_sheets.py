"""The finish on paper: surfaces made ready, the schedule of coats, mixing cards, the care sheet for the client."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Literal

from slabwright.carry.lifts import people_by_hand
from slabwright.finish.areas import Areas
from slabwright.finish.coating_results import CoatPlan, SystemPlan
from slabwright.finish.preparation import Preparation, PreparationStep
from slabwright.finish.windows import clock_words, date_words, hours_words
from slabwright.job.hands_models import ONE_LIFTS
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.finish_drawing import (
    CARD,
    day_strips,
    degrees_text,
    film_text,
    hardening,
    mixing_card,
    shop_calendar,
)
from slabwright.sheets.top_words import tape
from slabwright.sheets.words import Words, plain

_ACROSS, _GAP = 3, 3.5
_ROWS_OF_CARDS = 2
_COATS = 8
_READY = ("scratches-show",)
_COATING = (
    "too-cold", "too-warm", "too-damp", "too-dry", "dew", "pot-life", "window-missed", "not-open", "film-over-allowance",
    "example-figures", "not-known", "holes-first", "bare-steel", "no-start",
)  # fmt: skip
_LEAST_MINUTES = 1
_FEW = 11
"""Steps that leave the page room for another list."""
_NAME, _NAME_OF_MANY = 48, 28
_IN_ONE_LINE = 20
"""Letters of a coating's name that stand in one line of the schedule."""
_CAUTIONS = 48.0
"""Height of the box of cautions under a schedule of few coats; of many it is on the cards alone [mm]."""


def finish_sheets(
    context: Context, areas: Areas, systems: Sequence[SystemPlan], preparation: Preparation
) -> list[Sheet]:
    """The finish's sheets in the order of the work; none where there is nothing to coat.

    Args:
        context: the plan's, for paper, words and problems
        areas: what is coated
        systems: the coats on wood and on steel
        preparation: of the surfaces
    """
    if areas.wood <= 0.0 and areas.steel <= 0.0:
        return []
    found = [*ready_sheets(context, preparation)]
    if systems:
        found += [schedule_sheet(context, systems), *card_sheets(context, systems), care_sheet(context, systems)]
    return found


def problems(context: Context, codes: Iterable[str], most: int) -> list[Block]:
    """What the plan says that belongs here, the weightiest first; the rest by where it stands."""
    wanted = {f"finish/{code}" for code in codes}
    rank = {"stop": 0, "caution": 1, "note": 2}
    found = sorted((f for f in context.plan.findings if f.code in wanted), key=lambda f: rank[f.severity])
    said = [blocks.problem(each) for each in found[:most]]
    if len(found) > most:
        said.append(blocks.text(f"{len(found) - most} more: see slabwright check."))
    return said


def ready_sheets(context: Context, preparation: Preparation) -> list[Sheet]:
    """How the wood and the steel are got ready, each on its own sheet."""
    found = []
    for of, minutes in (("wood", preparation.minutes_wood), ("steel", preparation.minutes_steel)):
        steps = [step for step in preparation.steps if step.of == of]
        if steps:
            found.append(_ready(context, "wood" if of == "wood" else "steel", steps, minutes))
    return found


def _ready(context: Context, of: str, steps: Sequence[PreparationStep], minutes: float) -> Sheet:
    words = context.words
    rows = [
        (
            str(number),
            step.name[:1].upper() + step.name[1:],
            _size(step, words),
            f"{max(_LEAST_MINUTES, round(step.minutes))} min"
            + (f", wait {hours_words(step.wait)}" if step.wait else ""),
            step.how,
            "[box]",
        )
        for number, step in enumerate(steps, start=1)
    ]
    table = blocks.table(
        ["", "Step", "Size", "Hands on it", "How", "Done"],
        "rlrllc",
        rows,
        wide=(4,),
        pad=2.6,
    )
    sign = [step for step in steps if step.sign_off]
    first: list[Block] = [blocks.figures([(f"{minutes / 60.0:.1f} h", "hands on it, waits not counted", False)])]
    second: list[Block] = []
    if sign:
        second = [
            blocks.heading("Client's sign-off"),
            blocks.text("Nothing is coated before the finish board is signed."),
            blocks.checks(["Finish board signed on its back, dated"]),
        ]
    else:
        second = [*problems(context, _READY, 1)]
        second = second or [
            blocks.heading("Key for the primer"),
            blocks.text(
                "Scratches even all over, no bright mill scale, no burr; a fingertip drawn over every edge finds none."
            ),
        ]
    cautions = blocks.caution("sanding") if of == "wood" else blocks.caution("sanding", "solvents")
    lead = "Both faces alike. Coarse scratches show once it is coated: look across the light."
    if of == "steel":
        lead = "Clean, keyed and dry; coarse scratches show under thin flat paint."
    return Sheet(
        f"Getting the {of} ready",
        lead,
        [table],
        # A long list has the page to itself: its text in wider columns.
        [[blocks.side_by_side([first, second])], [cautions]] if len(rows) <= _FEW else [first, second, [cautions]],
        "wide",
        joins=True,
    )


def _size(step: PreparationStep, words: Words) -> str:
    if step.length > 0.0:
        return tape(round(step.length, -1), words) if words.metric else f"{step.length / 304.8:.0f} ft"
    return words.area(step.area) if step.area > 0.0 else ""


def schedule_sheet(context: Context, systems: Sequence[SystemPlan]) -> Sheet:
    """The coats in the calendar: a strip per day, then each coat with when the next one goes on."""
    words, paper = context.words, context.paper
    coats = sum(len(system.coats) for system in systems)
    few = coats <= _COATS
    lines = [coat for system in systems for coat in system.coats][: 2 * _COATS]
    long = [coat for coat in lines if len(coat.coating) > _IN_ONE_LINE or coat.next is not None]
    wrapped = 4.4 * len(long) if few else 0.0
    room = paper.inner_height - (7.2 if few else 6.0) * (len(lines) + 2) - wrapped - (_CAUTIONS if few else 0.0)
    picture = day_strips(systems, shop_calendar(context), paper.picture_width, room, words.units)
    drawn: list[Block] = [blocks.picture(picture)] if picture is not None else []
    shop = context.plan.shop
    days = {(day.on, day.number): day.starts for day in shop.coats} if shop is not None else {}
    rows = [
        _row(system, coat, words, days.get((system.on, coat.number)), few=few)
        for system in systems
        for coat in system.coats
    ]
    drawn.append(
        blocks.table(
            ["Coat", "", "Goes on", "Next coat", "Mix", "Wet"],
            "llllrr",
            rows[: 2 * _COATS],
            wide=(1, 3) if few else (3,),
            pad=3.6 if few else 2.4,
        )
    )
    if len(rows) > 2 * _COATS:
        drawn.append(blocks.text(f"{len(rows) - 2 * _COATS} more coats: plan.json, finish.systems."))
    if few:
        drawn.append(blocks.caution(*_dangers(systems)))
    side: list[Block] = []
    for system in systems:
        last = system.coats[-1].ends
        said = hours_words(system.cure)
        if last is not None and system.usable is not None:
            said = _short(datetime.fromisoformat(system.usable))
        side.append(blocks.figures([(said, f"{system.on} usable" + ("" if last else " after the last coat"), False)]))
    side += problems(context, _COATING, 3)
    side += [
        blocks.heading("To buy"),
        blocks.table(["Cans", "Coating", "Holds"], "rlr", _cans(systems, words), wide=(1,), pad=3.0),
    ]
    side.append(
        blocks.checks(["Air and steel measured before each coat", "Last coat: outlet holes are cut, eased, dusted"])
    )
    air = degrees_text(systems[0].temperature, words)
    lead = f"At {air}" + (f", {systems[0].humidity:.0f} % humidity" if systems[0].humidity is not None else "")
    dew = systems[0].dew_point
    lead += f", dew point {degrees_text(dew, words)}." if dew is not None else "."
    lead += (
        " Dashed: when the next coat may begin."
        if picture is not None
        else " Days as the day sheets have them; hours after each coat."
        if days
        else " No start is stated: hours after each coat."
    )
    return Sheet("Finishing schedule", lead, drawn, [side])


def _short(moment: datetime) -> str:
    weekday, date, month = date_words(moment).split(" ")
    return f"{weekday[:3]} {date} {month[:3]}"


def _row(system: SystemPlan, coat: CoatPlan, words: Words, scheduled: datetime | None, *, few: bool) -> tuple[str, ...]:
    clock: Literal[12, 24] = 24 if words.metric else 12
    starts = "any time" if coat.number == 1 else "in its window"
    begin = datetime.fromisoformat(coat.starts) if coat.starts is not None else scheduled
    if begin is not None:
        starts = f"{_short(begin)}, {clock_words(begin, clock)}"
    following = "last coat"
    if coat.next is not None:
        following = coat.next.words
        if coat.next.begin is not None and coat.next.begin_by is not None:
            first, last = (datetime.fromisoformat(each) for each in (coat.next.begin, coat.next.begin_by))
            when = clock_words(first, clock)
            following = (
                f"{_short(first)}, {when} to {clock_words(last, clock)}{_later(coat, last, clock) if few else ''}"
            )
        if coat.next.way != "without sanding":
            following += (
                f", {coat.next.way.removeprefix('after ').replace('scuffing', 'scuffed').replace('sanding', 'sanded')}"
            )
    return (
        f"{system.on.capitalize()} {coat.number}",
        plain(coat.coating, _NAME if few else _NAME_OF_MANY),
        starts,
        following,
        words.fill(coat.amount * 1e6),
        film_text(coat.wet_film, words) if coat.wet_film is not None else "",
    )


def _later(coat: CoatPlan, last: datetime, clock: Literal[12, 24]) -> str:
    """That the next coat may wait beyond that day's closing time, and how long."""
    if coat.next is None:
        return ""
    if coat.next.closes is None:
        return ", or any later day"
    closes = datetime.fromisoformat(coat.next.closes)
    if closes.date() <= last.date():
        return ", no later"
    return f", or at the latest {_short(closes)}, {clock_words(closes, clock)}"


def _cans(systems: Sequence[SystemPlan], words: Words) -> list[tuple[str, str, str]]:
    rows = [
        (f"{can.count} ×", plain(can.coating, _NAME), words.fill(can.size * 1e6))
        for system in systems
        for can in system.cans
    ]
    known = {can.coating for system in systems for can in system.cans}
    for system in systems:
        for name in dict.fromkeys(coat.coating for coat in system.coats):
            if name not in known:
                litres = sum(coat.amount for coat in system.coats if coat.coating == name)
                rows.append(("", plain(name, _NAME), f"{words.fill(litres * 1e6)}, no can sizes"))
    return rows


def _dangers(systems: Sequence[SystemPlan]) -> tuple[str, ...]:
    """The kinds of work that these coats are, for their cautions."""
    sheets = [coat.sheet for system in systems for coat in system.coats]
    found = []
    if any(sheet.isocyanate for sheet in sheets):
        found.append("spraying two-part paints")
    if any(sheet.epoxy for sheet in sheets):
        found.append("epoxy coats")
    if any(sheet.kind == "paint" for sheet in sheets):
        found.append("solvents")
    if any(sheet.kind == "oil" for sheet in sheets):
        found.append("oiling")
    return tuple(found)


def card_sheets(context: Context, systems: Sequence[SystemPlan]) -> list[Sheet]:
    """A mixing card for each coat, its batches alike."""
    words, paper = context.words, context.paper
    each = (paper.inner_width - (_ACROSS - 1) * _GAP) / _ACROSS
    cards = [mixing_card(system, coat, each, words) for system in systems for coat in system.coats]
    on_one = _ACROSS * (_ROWS_OF_CARDS if paper.inner_height > 2 * CARD + _GAP + 34.0 else 1)
    chunks = [cards[start : start + on_one] for start in range(0, len(cards), on_one)]
    found = []
    for number, chunk in enumerate(chunks, start=1):
        title = (
            "Mixing cards for the coats"
            if len(chunks) == 1
            else f"Mixing cards for the coats {number} of {len(chunks)}"
        )
        text: list[Block] = (
            [blocks.caution(*_dangers(systems))] if number == 1 else [blocks.text("Cautions: on the first card sheet.")]
        )
        lead = "Mix what one batch takes, no more. Cup zeroed for each component, a tick a batch."
        found.append(Sheet(title, lead, [blocks.cards(chunk, _ACROSS, _GAP)], [text], "wide"))
    return found


def care_sheet(context: Context, systems: Sequence[SystemPlan]) -> Sheet:
    """What the client is told: how it hardens, how it is kept, what it bears, what it does over the year."""
    words, paper = context.words, context.paper
    drawn: list[Block] = [blocks.picture(hardening(system, paper.picture_width, words)) for system in systems]
    wood = next((system for system in systems if system.on == "wood"), None)
    steel = next((system for system in systems if system.on == "steel"), None)
    rows = [("Every day", "Dry or barely damp soft cloth, along the grain. No scouring, no bleach, no solvent.")]
    if wood is not None and wood.coats[0].sheet.kind == "oil":
        rows += [
            ("Water, wine, oil", "Wipe at once. A ring left by water: dry first, then a little maintenance oil."),
            (
                "Once or twice a year",
                "Where water no longer beads: a thin coat of maintenance oil, wiped off dry after ten minutes.",
            ),
            ("Oily cloths", "Wet them through or shut them in a lidded metal can: they catch fire by themselves."),
        ]
    elif wood is not None:
        rows.append(("Water, wine, oil", "Wipe at once. Worn places: ask us, before the wood is bare."))
    rows += [
        ("Hot and cold", "Mats under hot pots; no radiator or stove within arm's length; out of strong sun."),
        (
            "Air of the room",
            "Best at 35 to 60 % humidity. The wood moves across its grain over the year; its bolts slide with it.",
        ),
    ]
    if steel is not None:
        rows.append(("Steel", "Damp cloth. A chip: touched up before it rusts; ask us for the colour."))
    rows.append(
        (
            "Moving it",
            f"{_moving(context)} Do not push or drag. Look at feet and bolts afterwards.",
        )
    )
    drawn.append(blocks.table(["What", "How"], "ll", rows, wide=(1,), pad=4.0))
    side: list[Block] = [blocks.heading("What is on it")]
    for system in systems:
        coats = [f"{name}, {count} coat{'s' if count > 1 else ''}" for name, count in _counted(system)]
        side.append(blocks.text(f"{system.on.capitalize()}: {plain('; '.join(coats), 150)}."))
    invented = [name for system in systems for name in system.invented]
    if invented:
        side.append(
            blocks.voice(
                "care", "Example figures stand behind these dates. State your data sheets before this goes to a client."
            )
        )
    side += _in_use(context)
    side.append(blocks.heading("Ours to mend"))
    side.append(
        blocks.text("If it wobbles, a joint opens, or the finish lifts: tell us. Keep this sheet with the table.")
    )
    side.append(blocks.checks(["Handed over and explained"]))
    title = plain(context.plan.job.stated.job.title, 40)
    return Sheet("Care of the table", f"{title}: for the people who use it.", drawn, [side])


def _moving(context: Context) -> str:
    """How many lift it, by the rule of the lift cards."""
    carry, words = context.plan.carry, context.words
    piece = carry.state("finished piece") if carry is not None else None
    if piece is None:
        return "Lift at the ends of the base, never alone."
    people = people_by_hand((piece.high / 2.0, piece.high / 2.0), ONE_LIFTS)
    weighs = f"It weighs about {words.weight(piece.mass)}:"
    if people is None:
        return f"{weighs} too much for four people. Take the top off first, or ask us."
    return f"{weighs} {max(people, 2)} people lift at the ends of the base."


def _counted(system: SystemPlan) -> list[tuple[str, int]]:
    names = [coat.coating for coat in system.coats]
    return [(name, names.count(name)) for name in dict.fromkeys(names)]


def _in_use(context: Context) -> list[Block]:
    """What the table bears, where the base was worked out."""
    base, words = context.plan.base, context.words
    if base is None:
        return []
    found: list[Block] = [blocks.heading("What it bears")]
    if base.tip_load is not None:
        found.append(
            blocks.figures([(words.weight_least(base.tip_load / 9.80665), "at its edge tips it when empty", False)])
        )
        found.append(blocks.text("Do not sit or climb on an edge or a corner; children neither."))
    else:
        found.append(blocks.text("Nobody climbs on it; it is made for work and meals."))
    return found
