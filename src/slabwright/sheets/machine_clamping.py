"""A sheet for each clamping on a gantry router: what lies where, where zero is, the files in their order."""

from __future__ import annotations

from collections.abc import Sequence

from slabwright.machine.results import MachinePlan
from slabwright.machine.setting import Clamping
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.lift_words import lifted_by
from slabwright.sheets.machine_drawings import (
    ROWS,
    TURN,
    bed_box,
    card_height,
    depth_card,
    draw_bed,
    draw_heights,
    draw_turn,
    plan_bounds,
    then_card,
)
from slabwright.sheets.machine_room import picture_height
from slabwright.sheets.machine_words import (
    after_it,
    carried_by,
    level_of,
    lifts_of,
    look_at,
    minutes,
    slid,
    title_of,
    turned_over,
)
from slabwright.sheets.picture import Picture
from slabwright.sheets.plan_view import View
from slabwright.sheets.words import NO_BREAK, Words, plain

SIDE = 92.0
"""Width of what stands beside the plan of the bed [mm]."""
_CARDS_IN_A_ROW = 5
CARD_GAP = 3.0
_ROWS_BESIDE = 4
"""Clamps that fit the table of the first sheet."""
_LONGEST_NAME = 16


def clamping_sheets(context: Context, machine: MachinePlan, clamping: Clamping) -> list[Sheet]:
    """The sheet of a clamping; another where its files or its clamps do not fit the first."""
    cards, then = _cards(context, machine, clamping)
    title = title_of(clamping, machine)
    lead = f"Face {clamping.face} up, lying on {carried_by(clamping, context)}. Seen from above."
    in_a_row = row_of(len(cards))
    here, later = cards[:in_a_row], cards[in_a_row:]
    below: list[Block] = [blocks.cards(here, in_a_row, CARD_GAP)] if here else []
    if not any(program.clamping == clamping.number for program in machine.programs):
        below = [blocks.voice("stop", "No program is written for this clamping.", "See the first sheet.")]
    clamps = clamp_rows(context, clamping)
    beside = clamps if len(clamps) <= _ROWS_BESIDE else []
    columns = [
        [blocks.steps(_steps(context, machine, clamping))],
        [
            *then,
            *off_the_bed(context, clamping),
            *_clamp_table(beside, bool(clamps)),
            blocks.checks(_boxes(context, machine, clamping)),
        ],
        [blocks.caution("machine", *handling(clamping, machine))],
    ]
    height = picture_height(context, cards[0].height if cards else 16.0, columns)
    drawing = _drawing(context, machine, clamping, height)
    sheets = [Sheet(title, lead, [blocks.picture(drawing), *below], columns, "wide")]
    sheets += more_cards(context, f"{title}, more files", lead, later)
    if clamps and not beside:
        sheets += _clamp_sheets(context, title, lead, clamps)
    return sheets


def row_of(cards: int) -> int:
    """How many cards stand in a row: few ones are wide."""
    return min(max(cards, 3), _CARDS_IN_A_ROW)


def card_width(context: Context, cards: int) -> float:
    """Width of each of so many cards [mm]."""
    in_a_row = row_of(cards)
    return (context.paper.inner_width - (in_a_row - 1) * CARD_GAP) / in_a_row


def more_cards(context: Context, title: str, lead: str, cards: Sequence[Picture]) -> list[Sheet]:
    """Sheets of nothing but cards, for those that do not fit the first sheet."""
    if not cards:
        return []
    rows = max(int((context.paper.inner_height - 16.0) / (cards[0].height + CARD_GAP)), 1)
    chunk = rows * _CARDS_IN_A_ROW
    return [
        Sheet(title, lead, [blocks.cards(cards[start : start + chunk], _CARDS_IN_A_ROW, CARD_GAP)], [[]], "wide")
        for start in range(0, len(cards), chunk)
    ]


def _drawing(context: Context, machine: MachinePlan, clamping: Clamping, height: float) -> Picture:
    drawing = Picture(context.paper.inner_width, height)
    left = 17.0
    moved = slid(clamping, machine)
    top = ROWS if clamping.overlap is not None or moved else 1.0
    foot = 10.5 if clamping.stock.outline.bounds[0] < 0.0 else 7.5
    room = (left, top, drawing.width - SIDE - 4.0 - left, height - foot - top)
    view = View.fit(plan_bounds(context, clamping), room)
    draw_bed(drawing, view, context, clamping, moved)
    panel = drawing.width - SIDE + 2.0
    turned = turned_over(clamping, machine)
    high = height - (TURN + 1.0) if turned else min(height, 62.0)
    draw_heights(drawing, panel, 0.0, high, context=context, clamping=clamping)
    if turned:
        draw_turn(drawing, panel, height - TURN, machine.settings[clamping.number - 2].face, clamping.face)
    return drawing


def _cards(context: Context, machine: MachinePlan, clamping: Clamping) -> tuple[list[Picture], list[Block]]:
    """A card for each file, in order, and what comes then: a card as well, or text where the cards fill their row."""
    words = context.words
    programs = [program for program in machine.programs if program.clamping == clamping.number]
    if not programs:
        return [], []
    after = after_it(context, machine, clamping)
    width = card_width(context, len(programs) + 1)
    looks = [look_at(context, clamping, program.level) for program in programs]
    height = card_height(looks, width, [program.name for program in programs])
    cards = [
        depth_card(
            width,
            height,
            f"{program.number}",
            level_of(program.level, words),
            program.name,
            f"{minutes(program.time)}, {lifts_of(program)}",
            look,
            unit=words.unit,
        )
        for program, look in zip(programs, looks, strict=True)
    ]
    return then_beside(cards, width, height, after, f"After file {programs[-1].number}")


def then_beside(
    cards: list[Picture], width: float, height: float, after: Sequence[str], when: str
) -> tuple[list[Picture], list[Block]]:
    """What comes after the last card: a card in the same row, or text beside the steps where the row is full.

    It stands on the clamping's own page either way, for there it is wanted most.

    Args:
        cards: of the depths
        width: of each [mm]
        height: of each [mm]
        after: what comes then
        when: after which of them
    """
    if len(cards) < _CARDS_IN_A_ROW:
        return [*cards, then_card(width, height, after)], []
    return cards, [blocks.heading(when), *(blocks.text(each) for each in after)]


def lay(context: Context, machine: MachinePlan, clamping: Clamping) -> list[str]:
    """How the slab comes to lie where it is cut."""
    words = context.words
    x, y = (_signed(words, mm) for mm in clamping.stock.outline.bounds[:2])
    corner = f"near left corner of the box round it at x{NO_BREAK}{x}, y{NO_BREAK}{y}"
    moved = slid(clamping, machine)
    on_stacks = clamping.lies_on == "stacks"
    weight = (
        ""
        if context.weight is None
        else f" About {words.weight(context.weight)} before roughing{_lifted(context, moved)}."
    )
    if on_stacks and not moved:
        said = [f"On its stacks as on the sheet Set-up: face {clamping.face} up, {corner}."]
    elif moved:
        way = "left" if moved < 0.0 else "right"
        how = f"{words.place(abs(moved))} farther to the {way}, in line with the bed"
        said = [f"Lift it clear, do not drag it.{weight}"]
        if on_stacks:
            said.append(
                f"Set its stacks {how}: {'; '.join(_stacks_at(context, clamping))}. Lower the slab on them: {corner}."
            )
        else:
            said.append(f"Set it down {how}: {corner}.")
    else:
        said = [
            f"Turn over; the x = 0 end stays at the left.{weight}",
            f"Brush both clean. Face {clamping.lies_on[-1]} straight on the bed, no shims: {corner}.",
        ]
    if not on_stacks and (past := _past(context, clamping)) is not None:
        far, end = past
        said.append(
            f"It reaches {words.place(far)} past the bed's {end} end: carry it there on stands level with the bed."
        )
    return said


def _lifted(context: Context, moved: float) -> str:
    """Who turns it over or lifts it, as the lift card says; nothing where there is none."""
    carry = context.plan.carry
    when = "when the slab comes" if moved else "between the two faces"
    card = next((lift for lift in carry.lifts if lift.when == when), None) if carry is not None else None
    return f": {lifted_by(card)}" if card is not None else ""


def _signed(words: Words, mm: float) -> str:
    return words.place(mm).replace("-", "−")


def _past(context: Context, clamping: Clamping) -> tuple[float, str] | None:
    """How far the slab reaches past an end of the bed, and which; None where it does not [mm]."""
    low, high = clamping.stock.outline.bounds[0], clamping.stock.outline.bounds[2]
    over = high - bed_box(context).bounds[2]
    return None if max(-low, over) <= 1.0 else (max(-low, over), "left" if -low > over else "right")


def _stacks_at(context: Context, clamping: Clamping) -> list[str]:
    """Where the stacks stand along the bed, those at one place together."""
    shims, places = context.slab.shims, dict[str, list[str]]()
    for stack in shims.stacks if shims else ():
        places.setdefault(_signed(context.words, stack.bed_x + clamping.lying.shift[0]), []).append(stack.name)
    return [f"{', '.join(names)} at x{NO_BREAK}{x}" for x, names in places.items()]


def off_the_bed(context: Context, clamping: Clamping) -> list[Block]:
    """A caution where a carrying stack would stand off the bed, as it may once the slab was set down farther along."""
    if clamping.lies_on != "stacks" or context.slab.shims is None:
        return []
    words, bed = context.words, context.plan.job.shop.bed
    half, shift = bed.pad_diameter / 2, clamping.lying.shift[0]
    off = [stack for stack in context.slab.shims.stacks if not half <= stack.bed_x + shift <= bed.length - half]
    carrying = [
        f"Stack {stack.name} would stand off the bed: set a stand of {words.fine(stack.height)} above the bed's surface at "
        f"x{NO_BREAK}{_signed(words, stack.bed_x + shift)}."
        for stack in off
        if stack.carries
    ]
    others = [stack.name for stack in off if not stack.carries]
    told = f"{' and '.join(others)}: off the bed too, without weight; a stand, or leave out." if others else ""
    if not carrying:
        return [blocks.voice("care", f"{'Stacks' if len(others) > 1 else 'Stack'} {told}")] if others else []
    return [blocks.voice("care", " ".join([*carrying, told]).strip())]


def handling(clamping: Clamping, machine: MachinePlan) -> tuple[str, ...]:
    """The cautions of lifting, where the slab is turned over or set down farther along."""
    return ("handling",) if turned_over(clamping, machine) or slid(clamping, machine) else ()


def _steps(context: Context, machine: MachinePlan, clamping: Clamping) -> list[str]:
    words = context.words
    held = "Hold it with what is drawn (black), nowhere else." if clamping.keep_out else "Hold it from the sides, low."
    on = f"the block, {words.fine(clamping.block)} above the bed" if clamping.block > 0.0 else "the bed itself"
    said = [
        *lay(context, machine, clamping),
        held,
        f"Zero x and y at the bed's near left corner, z on {on}; twice.",
        f"Run the files in order. Each takes {machine_depth(context)} at most. After each: stop, look, tick.",
    ]
    return said


def machine_depth(context: Context) -> str:
    """The greatest depth of a pass."""
    return context.words.fine(context.plan.job.shop.machine.greatest_depth)


def _boxes(context: Context, machine: MachinePlan, clamping: Clamping) -> list[str]:
    said = ["Nothing rocks", "Z zeroed twice, the same both times", "Clamps, wedges, hose outside every move"]
    if not clamping.keep_out:
        said.append("Nothing that holds it stands above the lowest cut")
    if machine.programs:
        time = sum(program.time for program in machine.programs if program.clamping == clamping.number)
        said.append(f"Someone stays by for {minutes(time)}")
    return said


def clamp_rows(context: Context, clamping: Clamping) -> list[list[str]]:
    """What stands on the bed: number, name, near left corner, height of its top."""
    words = context.words
    return [
        [
            f"{number}",
            plain(each.name, _LONGEST_NAME),
            words.place(each.x_from),
            words.place(each.y_from),
            words.place(each.top),
        ]
        for number, each in enumerate(clamping.keep_out, start=1)
    ]


_CLAMP_HEAD = ["", "On the bed", "corner x", "corner y", "top"]


def _clamp_table(rows: Sequence[Sequence[str]], some: bool) -> list[Block]:
    if rows:
        return [blocks.table(_CLAMP_HEAD, "llrrr", rows, pad=2.0)]
    return [blocks.text("Clamps by their numbers: next sheet." if some else "No clamps are stated for this clamping.")]


def _clamp_sheets(context: Context, title: str, lead: str, rows: list[list[str]]) -> list[Sheet]:
    deep = int((context.paper.inner_height - 22.0) / 5.8)
    sheets = []
    for start in range(0, len(rows), 2 * deep):
        part = rows[start : start + 2 * deep]
        columns: list[list[Block]] = [
            [blocks.table(_CLAMP_HEAD, "llrrr", part[at : at + deep], pad=2.4)] for at in range(0, len(part), deep)
        ]
        told = [blocks.text("Clamps, stops and wedges by their numbers in the drawing, near left corners and tops.")]
        sheets.append(Sheet(f"{title}, clamps", lead, list(told), columns, "wide"))
    return sheets
