"""The weld plan: joints numbered, each kind in section, tacked and proven square, then welded out."""

from __future__ import annotations

from collections.abc import Sequence

from slabwright.base.basing import BasePlan
from slabwright.base.square_checks import SquareCheck, SquareChecks
from slabwright.base.weld_joints import meetings
from slabwright.base.weld_order import WeldStep
from slabwright.base.weld_plan import WeldPlan
from slabwright.quantities import format_mass
from slabwright.sheets import blocks
from slabwright.sheets.base_words import problems
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.joint_drawing import joint_picture
from slabwright.sheets.top_words import tape, text_height
from slabwright.sheets.weld_drawing import frame_drawing, measured_frame
from slabwright.sheets.weld_words import (
    Alike,
    after,
    joints_alike,
    letter,
    minutes,
    places,
    run_of,
    share,
    size_of,
    spans,
)
from slabwright.sheets.words import NO_BREAK, Words, plain

_CODES = ("weld-too-weak", "plate-misses-tube", "wall-burns-through", "square-too-fine")
_ROW, _BOX_ROW = 5.3, 9.4
"""Height of a row, and of one with a box to write in [mm]."""
_DETAIL = 76.0
_DETAILS = 4
_LEAST_FRAME = 84.0
"""Room for the numbered base that is left above the table of its joints [mm]."""
_ROWS = 17
_TICKS = 26
_MORE_TICKS, _ACROSS = 26, 4
_NAMED = 24
"""Joints that a step names."""
_SIGNED = "signed"
_TAPERS = 0.05


def weld_sheets(context: Context, plan: BasePlan) -> list[Sheet]:
    """All sheets of the weld plan; none where there is none, or nothing to weld."""
    welds = plan.welds
    if welds is None or not welds.joints:
        return []
    alike = joints_alike(plan.drawn, welds)
    held, rest = _parted(welds.order)
    return [
        *_joint_sheets(context, plan, welds, alike),
        *_detail_sheets(context, alike),
        *_tack_sheets(context, plan, welds, held),
        *_out_sheets(context, plan, welds, rest, alike),
    ]


def _parted(order: Sequence[WeldStep]) -> tuple[list[WeldStep], list[WeldStep]]:
    """The steps up to the sign-off, and those after it."""
    last = max((k for k, step in enumerate(order) if _SIGNED in step.proof), default=-1) + 1
    return list(order[:last]), list(order[last:])


def _joint_sheets(context: Context, plan: BasePlan, welds: WeldPlan, alike: Sequence[Alike]) -> list[Sheet]:
    """The base with its joints numbered, and what is welded there."""
    words, paper = context.words, context.paper
    rows = [row for each in alike for row in _rows(each, words)]
    head = ["", "Joints", "Which", "Seam", "Weld", "Laid", "Throat left", "Load uses", "Before", "After"]
    tables = [rows[start : start + _ROWS] for start in range(0, len(rows), _ROWS)]

    def table(some: Sequence[Sequence[str]]) -> Block:
        return blocks.table(head, "llllllrrll", some, wide=(3, 8), pad=2.2)

    taken = sum(_row_height(row) for row in rows) + 8.0
    beside: list[Block] = [
        blocks.figures([
            (format_mass(welds.filler, words.units), "filler to have", False),
            (minutes(welds.welding_time), "of welding, half to double", False),
        ]),
        blocks.table(["", ""], "lr", _amounts(welds, words), wide=(0,), pad=2.0),
        *problems(context, _CODES, 1),
        blocks.heading("Before the first tack"),
        blocks.steps(welds.prepare),
    ]  # fmt: skip
    together = taken + max(_LEAST_FRAME, text_height(context, [beside, []])) <= paper.inner_height
    high = min(paper.inner_height - (taken if together else 20.0) - 4.0, 112.0)
    labels = [str(number) for number in range(1, len(welds.joints) + 1)]
    frame = frame_drawing(plan.drawn, meetings(plan.drawn), labels, paper.inner_width / 2 - 3.0, high)
    drawn: list[Block] = [blocks.side_by_side([[blocks.picture(frame)], beside])]
    lead = "Throats as they are after grinding: a mitre ground flush is a groove weld."
    if together:
        return [Sheet("Weld plan", lead, drawn, [[table(rows)]], "wide")]
    first = Sheet("Weld plan", lead, drawn, [[blocks.caution("welding")]], "wide")
    return [
        first,
        *(
            Sheet("Welds" if k == 0 else f"Welds, {k + 1}", lead, [table(some)], [[]], "wide")
            for k, some in enumerate(tables)
        ),
    ]


def _rows(alike: Alike, words: Words) -> list[tuple[str, ...]]:
    found: list[tuple[str, ...]] = []
    for k, group in enumerate(alike.seams):
        seam = group[0]
        first = k == 0
        found.append(
            (
                alike.mark if first else "",
                plain(spans(alike.numbers), 22) if first else "",
                alike.title if first else "",
                f"{letter(k)} {places(group)}",
                seam.type,
                size_of(seam, words),
                words.fine(seam.throat),
                share(alike.joint.used) if first else "",
                plain(alike.joint.prepare, 62) if first else "",
                after(seam),
            )
        )
    return found


def _row_height(row: Sequence[str]) -> float:
    """Its wide cells go over lines [mm]."""
    lines = max(1, -(-len(row[3]) // 20), -(-len(row[8]) // 20), -(-len(row[2]) // 24))
    return 4.05 * lines + 1.9


def _amounts(welds: WeldPlan, words: Words) -> list[tuple[str, str]]:
    return [
        ("Seams, all together", run_of(welds.length, words)),
        ("Weld metal in them", format_mass(welds.weld_metal, words.units)),
        ("Ground flush", run_of(welds.grinding_length, words)),
        ("Filled before paint", run_of(welds.filling_length, words)),
        ("Grinding and filling, half to double", minutes(welds.grinding_time)),
    ]


def _detail_sheets(context: Context, alike: Sequence[Alike]) -> list[Sheet]:
    """Each kind of joint in section, four to a sheet."""
    words, paper = context.words, context.paper
    sheets = []
    for start in range(0, len(alike), _DETAILS):
        some = alike[start : start + _DETAILS]
        deep = (len(some) + 1) // 2
        high = min(92.0, (paper.inner_height - 5.0 - 3.5 * (deep - 1)) / deep)
        items = [
            (
                joint_picture(each, _DETAIL, high, words),
                f"{each.mark}  {each.title}",
                [(words.fine(each.joint.throat), "least throat left")],
                _lines(each, words),
            )
            for each in some
        ]
        text: list[list[Block]] = [[blocks.caution("welding")] if deep == 1 else []]
        title = "Joint details" if start == 0 else f"Joint details, {start // _DETAILS + 1}"
        lead = "Steel hatched, weld solid; each seam larger below, as it is fitted up and laid."
        sheets.append(Sheet(title, lead, [blocks.maps(items, 2, beside=True)], text, "wide"))
    return sheets


def _lines(alike: Alike, words: Words) -> list[str]:
    """What is told beside a detail."""
    used = "no load is counted" if alike.joint.used is None else f"load uses {share(alike.joint.used)}"
    lines = [f"Joints {plain(spans(alike.numbers), 40)}; {used}."]
    for k, group in enumerate(alike.seams):
        seam = group[0]
        length = sum(each.length for each in group)
        laid = f"leg {tape(seam.leg, words)}" if seam.leg is not None else "to the full wall"
        lines.append(f"{letter(k)}  {places(group)}: {seam.type}, {laid}, {words.place(length)} in all, {after(seam)}.")
    meeting = alike.meeting
    if meeting.kind not in ("cap", "plate on an end", "plate on a rail") and round(meeting.angle, 1) != 90.0:
        lines.append(f"Between the pieces {meeting.angle:.1f}°.")
    lines.append(f"Before: {alike.joint.prepare}.")
    return lines


def _step_blocks(step: WeldStep, numbers: dict[str, int]) -> list[Block]:
    """A step, the joints it is done at, and what must hold before the next."""
    said = f"{step.title}. {step.do}"
    if step.joints:
        turn = ", ".join(str(numbers[name]) for name in step.joints[:_NAMED])
        more = (
            f" and {len(step.joints) - _NAMED} more, far from each other in turn" if len(step.joints) > _NAMED else ""
        )
        said += f" Joints in turn: {turn}{more}."
    found = [blocks.steps([said], step.number)]
    if step.proof:
        found.append(blocks.checks([f"{step.proof[:1].upper()}{step.proof[1:]}."]))
    if _SIGNED in step.proof:
        found.append(
            blocks.voice("stop", "Client sign-off: nothing is welded out before it. Name, date: __________________")
        )
    return found


def _columns(groups: Sequence[Sequence[Block]], count: int, context: Context) -> list[list[Block]]:
    """Groups in columns of like height, in their order."""

    def height(groups: Sequence[Sequence[Block]]) -> float:
        empty: list[list[Block]] = [[] for _ in range(count - 1)]
        return text_height(context, [[block for group in groups for block in group], *empty])

    best: list[list[Sequence[Block]]] = []
    least = float("inf")

    def tried(start: int, columns: list[list[Sequence[Block]]]) -> None:
        nonlocal best, least
        if len(columns) == count - 1:
            whole = [*columns, list(groups[start:])]
            tallest = max(height(column) for column in whole)
            if tallest < least:
                best, least = whole, tallest
            return
        for stop in range(start, len(groups) + 1):
            tried(stop, [*columns, list(groups[start:stop])])

    tried(0, [])
    return [[block for group in column for block in group] for column in best]


def _tack_sheets(context: Context, plan: BasePlan, welds: WeldPlan, steps: Sequence[WeldStep]) -> list[Sheet]:
    """Tacked, trued up, proven square, tried with the top; what is measured and how far it may be off."""
    words, paper = context.words, context.paper
    numbers = {joint.name: number for number, joint in enumerate(welds.joints, start=1)}
    text = _columns([_step_blocks(step, numbers) for step in steps], 3, context)
    room = paper.inner_height - text_height(context, text) - 6.0
    square = plan.squareness
    lead = "All three prove it, no one alone. Where two are near their limits, take half of each."
    if square is None:
        checks = _node_table(plan, words)
        labels = [str(number) for number in range(1, len(welds.joints) + 1)]
        left = frame_drawing(plan.drawn, meetings(plan.drawn), labels, paper.inner_width / 2 - 3.0, max(room, 60.0))
        lead = "A free frame is proven by where its nodes stand."
    else:
        checks = _square_tables(square, _taper(plan), words)
        left = measured_frame(plan, paper.inner_width / 2 - 3.0, min(max(room, 60.0), 90.0))
    drawn: list[Block] = [blocks.side_by_side([[blocks.picture(left)], checks])]
    if max(left.height, _tables_height(checks)) <= room:
        return [Sheet("Tack and prove it square", lead, drawn, text, "wide")]
    labels = [str(number) for number in range(1, len(welds.joints) + 1)]
    frame = frame_drawing(plan.drawn, meetings(plan.drawn), labels, paper.inner_width, max(room, 60.0))
    return [
        Sheet("Tack", "What is measured is on the next sheet.", [blocks.picture(frame)], text, "wide"),
        Sheet("Prove it square", lead, drawn, [[]], "wide"),
    ]


def _tables_height(tables: Sequence[Block]) -> float:
    return sum(_BOX_ROW * (len(table.get("rows", [])) + 0.8) + 3.0 for table in tables)


def _taper(plan: BasePlan) -> float:
    """By how much a leg frame is wider below than above, as drawn [mm]."""
    end = plan.drawn.plates[0].name.split()[0]
    low, top = (plan.drawn.nodes[f"{end} far upright, {where}"][1] for where in ("bottom", "top"))
    return 2.0 * (low - top)


def _square_tables(square: SquareChecks, taper: float, words: Words) -> list[Block]:
    """Frames side by side where they are drawn alike; then what is measured on both together."""
    ends: dict[str, list[SquareCheck]] = {"left": [], "right": []}
    both: list[SquareCheck] = []
    for check in square.checks:
        end = check.what.split()[0]
        ends.get(end, both).append(check)
    rows = []
    for one, other in zip(ends["left"], ends["right"], strict=False):
        same = one.nominal == other.nominal and one.may_differ == other.may_differ
        for check, boxes in ((one, ("[write]", "[write]" if same else "")), (other, ("", "[write]"))):
            if check is one or not same:
                rows.append((_what(check, taper, words), _nominal(check, words), _may(check, words), *boxes))
    head = ["Leg frames and plates", "As drawn", "May be off", "Left", "Right"]
    found = [blocks.table(head, "lrrcc", rows, wide=(3, 4), pad=1.6)]
    if both:
        said = [(_what(check, taper, words), _nominal(check, words), _may(check, words), "[write]") for check in both]
        found.append(
            blocks.table(["Both frames together", "As drawn", "May be off", "Found"], "lrrc", said, wide=(3,), pad=1.6)
        )
    return found


def _what(check: SquareCheck, taper: float, words: Words) -> str:
    if check.what.endswith("plan"):
        return (
            "Plan: diagonals, corner to corner"
            if check.check == "diagonals"
            else "Plan: over both plates, near less far"
        )
    if check.what.endswith("feet"):
        return "On its feet: gap under the fourth"
    if check.what.endswith("plate"):
        return "Plate on the flat: rocks by"
    if check.check == "diagonals":
        return "Diagonals D1 less D2"
    if check.check == "rocking":
        return "Frame on the flat: gap at a corner"
    if not check.measure.startswith("width"):
        return "Legs N less F"
    return "Sides A less B" + (f", beyond {tape(taper, words)}" if abs(taper) >= _TAPERS else "")


def _nominal(check: SquareCheck, words: Words) -> str:
    return "flat" if check.nominal is None else tape(check.nominal, words)


def _may(check: SquareCheck, words: Words) -> str:
    return words.fine(check.may_differ).replace(" ", NO_BREAK)


def _node_table(plan: BasePlan, words: Words) -> list[Block]:
    nodes = list(plan.drawn.nodes.items())
    rows = [(plain(name, 14), *(tape(each, words) for each in place), "[box]") for name, place in nodes[:16]]
    found = [blocks.table(["Node", "Along", "Across", "Up", "Holds"], "lrrrc", rows, wide=(0,), pad=1.6)]
    if len(nodes) > 16:
        found.append(blocks.text(f"{len(nodes) - 16} more nodes: see the job file."))
    return found


def _out_sheets(
    context: Context, plan: BasePlan, welds: WeldPlan, steps: Sequence[WeldStep], alike: Sequence[Alike]
) -> list[Sheet]:
    """The order of welding out drawn and listed, and what follows it."""
    paper = context.paper
    numbers = {joint.name: number for number, joint in enumerate(welds.joints, start=1)}
    order = next((step.joints for step in steps if step.title == "Weld out"), ())
    turns = {name: turn for turn, name in enumerate(order, start=1)}
    groups = [_step_blocks(step, numbers) for step in steps]
    care = [blocks.heading("Before an arc is struck"), blocks.checks(welds.cautions)]
    groups[:0] = [[blocks.caution("welding")], care]
    text = _columns(groups, 3, context)
    room = paper.inner_height - text_height(context, text) - 5.0
    labels = [str(turns[joint.name]) if joint.name in turns else "" for joint in welds.joints]
    frame = frame_drawing(
        plan.drawn, meetings(plan.drawn), labels, paper.inner_width / 2 - 3.0, min(max(room, 55.0), 95.0), square=True
    )
    half = max((min(len(order), _TICKS) + 1) // 2, 1)
    kinds = {number: f"{each.mark} {each.joint.kind}" for each in alike for number in each.numbers}
    rows = [(str(turns[name]), str(numbers[name]), kinds[numbers[name]], "[box]") for name in order[:_TICKS]]
    tables = [[_turn_table(some)] for some in (rows[:half], rows[half:]) if some]
    drawn: list[Block] = [blocks.side_by_side([[blocks.picture(frame)], [blocks.side_by_side(tables)]])]
    lead = "In squares: the turn of each joint. Heat comes from opposite places in turn."
    more = _more_turns(
        [(str(turns[name]), str(numbers[name]), kinds[numbers[name]], "[box]") for name in order[_TICKS:]]
    )
    if max(frame.height, _ROW * (half + 1.5)) <= room:
        return [Sheet("Weld out and grind", lead, drawn, text, "wide"), *more]
    return [
        Sheet("Weld out: which in turn", lead, drawn, [[]], "wide"),
        *more,
        Sheet("Weld out and grind", "With the sheet of the turns beside it.", [], text, "wide"),
    ]


def _turn_table(rows: Sequence[Sequence[str]]) -> Block:
    return blocks.table(["Turn", "Joint", "Kind", "Done"], "rrlc", rows, wide=(2,), pad=1.5)


def _more_turns(rows: Sequence[Sequence[str]]) -> list[Sheet]:
    """Turns that the sheet with the drawing has no room for."""
    sheets = []
    for start in range(0, len(rows), _MORE_TICKS * _ACROSS):
        some = rows[start : start + _MORE_TICKS * _ACROSS]
        columns = [[_turn_table(some[k : k + _MORE_TICKS])] for k in range(0, len(some), _MORE_TICKS)]
        columns += [[] for _ in range(_ACROSS - len(columns))]
        title = "More turns" if start == 0 else f"More turns, {start // (_MORE_TICKS * _ACROSS) + 1}"
        sheets.append(Sheet(title, "Heat comes from opposite places in turn.", [], columns, "wide"))
    return sheets
