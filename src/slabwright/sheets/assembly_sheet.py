"""The assembly's sheets: parts drawn apart, the steps one after another, and the cables seen from below."""

from __future__ import annotations

import math
from collections.abc import Sequence

from slabwright.base.basing import BasePlan
from slabwright.carry.assembly_results import Assembly, AssemblyStep, Turning
from slabwright.carry.assembly_tasks import format_torque
from slabwright.carry.cables_results import CableRoute
from slabwright.sheets import blocks
from slabwright.sheets.assembly_drawing import exploded, step_drawings
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.cable_sheet import cable_sheets
from slabwright.sheets.context import Context
from slabwright.sheets.picture import Picture
from slabwright.sheets.words import NO_BREAK, Words, plain

_STEP_WIDTH, _STEP_HIGH = 40.0, 22.0
_LETTER, _LINE = 1.5, 4.0
"""Of a step's text, rather wide, and between its lines [mm]."""
_COLUMNS = 2
_BOLT_ROWS = 9
_CODES = ("assembly-hands", "frames-braced", "steel-in-parts", "stand-under-hole")


def assembly_sheets(context: Context, plan: Assembly | None, routes: Sequence[CableRoute]) -> list[Sheet]:
    """How the piece is put together, step by step, and its cables.

    Args:
        context: the plan and its paper
        plan: the assembly; None where there is no base yet
        routes: of the cables
    """
    base = context.plan.base
    found: list[Sheet] = []
    if plan is not None and base is not None:
        found += [_parts_sheet(context, plan, base), *_step_sheets(context, plan, base, routes)]
    return [*found, *cable_sheets(context, routes)]


def _parts_sheet(context: Context, plan: Assembly, base: BasePlan) -> Sheet:
    words, paper = context.words, context.paper
    rows = _bolt_rows(plan, words)
    room = paper.inner_height - 4.9 * (len(rows) + 1) - 9.0
    drawn: list[Block] = [blocks.picture(exploded(plan, base, paper.picture_width, room, words))]
    if rows:
        head = ["Bolts of", "Which", "Count", "Long", "At most", "With"]
        drawn.append(blocks.table(head, "llrrrl", rows, wide=(1,), pad=2.0))
    way = next(each for each in plan.ways if each.name == plan.way)
    lead = f"{plan.way[:1].upper()}{plan.way[1:]}: {len(plan.steps)} steps. "
    heaviest = f"{way.what[:1].upper()}{way.what[1:]}: {way.told}."
    # Who lifts stands beside the drawing too: a lead that would be cut says the steps alone.
    lead += heaviest if len(lead) + len(heaviest) <= blocks.LONGEST_LEAD else ""
    return Sheet("Assembly", lead, drawn, [_parts_text(context, plan)])


def _bolt_rows(plan: Assembly, words: Words) -> list[tuple[str, ...]]:
    """The bolts, those that are alike in one row."""
    alike: dict[tuple[str, str, str, str, str], int] = {}
    for bolt in plan.bolts:
        key = (
            bolt.frame,
            "do not slide: first, firm" if bolt.fixed else "in slots: snug, not tight",
            words.place(bolt.length) if bolt.length is not None else "not known",
            torque(bolt.torque, words),
            bolt.tool,
        )
        alike[key] = alike.get(key, 0) + 1
    rows: list[tuple[str, ...]] = [
        (plain(frame, 18), which, str(count), long, most, plain(tool, 34))
        for (frame, which, long, most, tool), count in sorted(alike.items(), key=lambda each: each[0][0])
    ]
    return rows[:_BOLT_ROWS]


def torque(newton_metres: float | None, words: Words) -> str:
    """A torque as a wrench shows it."""
    return "by feel" if newton_metres is None else format_torque(newton_metres, words.units).replace(" ", NO_BREAK)


def _parts_text(context: Context, plan: Assembly) -> list[Block]:
    words = context.words
    found: list[Block] = []
    way = next(each for each in plan.ways if each.name == plan.way)
    if way.possible:
        aid = next((turn.tool for turn in plan.turning if turn.mass == way.heaviest and turn.tool != "hands"), "")
        who = "person" if way.people == 1 else "people"
        great = [(str(way.people), f"{who} for the heaviest lift" + (f", with the {aid}" if aid else ""), True)]
    else:
        great = [(words.weight(way.heaviest), "heaviest lift: not with what is at hand", False)]
    if plan.stands is not None:
        great.append((words.place(plan.stands.height), "height of the stands", False))
    found.append(blocks.figures(great))
    wanted = {f"carry/{code}" for code in _CODES}
    told = [finding for finding in context.plan.findings if finding.code in wanted]
    found += [blocks.problem(finding) for finding in told[:2]]
    for each in plan.ways:
        found.append(blocks.heading(f"{each.name[:1].upper()}{each.name[1:]}", each.name == plan.way))
        found.append(blocks.text(f"{each.told[:1].upper()}{each.told[1:]}."))
    if plan.stands is not None:
        places = " and ".join(words.place(place) for place in plan.stands.places)
        found.append(
            blocks.text(
                f"Stands at {places} from the top's left end, {words.place(plan.stands.length)} long at least; hands work at "
                f"{words.place(plan.stands.work)}."
            )
        )
    found += [
        blocks.text(
            f"Turn the {turn.what} {turn.how}: {_crew(turn)}, {words.weight(turn.mass)}, "
            f"{words.place(turn.room)} of free floor."
        )
        for turn in dict.fromkeys(plan.turning)
    ]
    found.append(blocks.caution("assembling"))
    return found


def _crew(turn: Turning) -> str:
    people = "1 person" if turn.people == 1 else f"{turn.people} people"
    return people if turn.tool == "hands" else f"{people} with the {turn.tool}"


def _step_sheets(context: Context, plan: Assembly, base: BasePlan, routes: Sequence[CableRoute]) -> list[Sheet]:
    paper = context.paper
    drawings = step_drawings(plan, base, routes, _STEP_WIDTH, _STEP_HIGH)
    wide = (paper.inner_width - 4.0 * (_COLUMNS - 1)) / _COLUMNS - _STEP_WIDTH - 3.0
    items: list[tuple[Picture, str, list[tuple[str, str]], list[str]]] = [
        (drawing, f"{step.number}  {step.do}", [], _step_lines(step))
        for drawing, step in zip(drawings, plan.steps, strict=True)
    ]
    heights = [_high(head, lines, wide) for _, head, _, lines in items]
    pages: list[list[int]] = [[]]
    used = 0.0
    for start in range(0, len(items), _COLUMNS):
        row = list(range(start, min(start + _COLUMNS, len(items))))
        high = max(heights[k] for k in row) + 3.5
        if pages[-1] and used + high > paper.inner_height - 4.0:
            pages.append([])
            used = 0.0
        pages[-1] += row
        used += high
    lead = "Read across, then down. Blue: what the step is about."
    return [
        Sheet(
            "Assembly, step by step" if number == 0 else f"Assembly, step by step, {number + 1}",
            lead,
            [blocks.maps([items[k] for k in page], _COLUMNS, beside=True)],
            [[]],
            "wide",
        )
        for number, page in enumerate(pages)
    ]


def _step_lines(step: AssemblyStep) -> list[str]:
    who = "1 person" if step.people == 1 else f"{step.people} people"
    said = [who, step.tool]
    if step.after:
        said.append(f"after {', '.join(str(number) for number in step.after)}")
    if step.sheet:
        said.append(f"sheet {step.sheet}")
    lines = [" · ".join(said)]
    if step.caution:
        lines.append(f"Care: {step.caution}.".replace("..", "."))
    return lines


def _high(head: str, lines: Sequence[str], wide: float) -> float:
    rows = math.ceil((len(head) + 4) * 1.08 * _LETTER / wide)
    rows += sum(math.ceil(len(line) * _LETTER / wide) for line in lines)
    return max(_STEP_HIGH, rows * _LINE + 2.4)
