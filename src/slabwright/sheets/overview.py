"""The first sheet: what board comes, how sure, what stands in the way."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from slabwright.findings import Finding
from slabwright.plan import Waiting
from slabwright.sheets import blocks
from slabwright.sheets.blocks import LONGEST_LEAD, Block, Sheet
from slabwright.sheets.chart import PLANNED_APART, falling_bars
from slabwright.sheets.context import Context
from slabwright.sheets.words import plain

_LINES_OF_PROBLEMS = 25
_LETTERS_IN_A_LINE = 52


def _moisture(context: Context) -> Block:
    gate = context.slab.moisture
    facts = []
    if gate.core is not None:
        shell = "" if gate.shell is None else f", {gate.shell:.1f} % near the surface"
        facts.append(f"{gate.core:.1f} % at half the thickness{shell}")
    elif gate.shell is not None:
        facts.append(f"{gate.shell:.1f} % near the surface, not read at half the thickness")
    else:
        facts.append("not read")
    if gate.target is None:
        facts.append("the room's air is not stated")
    else:
        facts.append(f"the room asks for {gate.target:.1f} %")
    if gate.wait_low is not None and gate.wait_high is not None and gate.wait_high > 0:
        facts.append(f"likely wait {gate.wait_low:.0f} to {gate.wait_high:.0f} days, a rule of thumb")
    told = "; ".join(facts)
    if gate.verdict == "go":
        return blocks.voice("go", f"Moisture: {told}.")
    return blocks.voice("stop" if gate.verdict == "stop" else "care", f"Moisture: {told}.")


def _procedures(context: Context) -> list[Block]:
    words, ways = context.words, context.slab.procedures
    if not ways:
        return []
    columns: list[list[Block]] = []
    for way in ways:
        told = (
            f"Sure 19 in 20: {words.fine(way.thickness_low)}. Wood may move {words.fine(way.movement)}. "
            f"Waiting: {words.days(way.days)}."
        )
        name = way.kind[:1].upper() + way.kind[1:]
        head = blocks.heading(name, way.chosen)
        columns.append([head, blocks.text(told), blocks.steps(way.steps)])
    return [blocks.heading("How the two faces are worked"), blocks.side_by_side(columns)]


def _great_figures(context: Context) -> Block:
    words, slab = context.words, context.slab
    seat = slab.seat
    proven = abs(seat.bound - seat.thickness) < PLANNED_APART
    apart = abs(seat.target - seat.thickness_low) >= PLANNED_APART
    rows = [
        (words.fine(seat.thickness), "of the readings, proven the most" if proven else "of the readings", False),
        (
            words.fine(seat.thickness_low),
            f"is sure 19 times in 20{', planned for' if not apart else ', unfilled' if slab.chosen_fill else ''}",
            not apart,
        ),
    ]
    if apart:
        rows.append(
            (
                words.fine(seat.target),
                f"is planned for{f', with fill {slab.chosen_fill}' if slab.chosen_fill else ''}",
                True,
            )
        )
    return blocks.figures(rows)


def _ranked(findings: Sequence[Finding]) -> list[Finding]:
    return sorted(findings, key=lambda finding: ("stop", "caution", "note").index(finding.severity))


def _that_fit(ranked: Sequence[Finding]) -> list[Finding]:
    """As many of the gravest as the first sheet has lines for."""
    lines, shown = 0, []
    for finding in ranked:
        said = len(finding.message) + 8, len(finding.remedy) + len(finding.source) + 20
        lines += sum(ceil(letters / _LETTERS_IN_A_LINE) for letters in said)
        if lines > _LINES_OF_PROBLEMS:
            break
        shown.append(finding)
    return shown


def _not_computed(waiting: Sequence[Waiting]) -> list[Block]:
    if not waiting:
        return []
    said = [f"{w.stage[:1].upper()}{w.stage[1:]}: needs {w.waits_for}." for w in waiting]
    return [blocks.heading("Not computed"), *(blocks.text(line) for line in said)]


def _lead(context: Context) -> str:
    job = context.plan.job.stated.job
    return job.title if not job.client else f"{job.title}, for {job.client}"


def no_board(context: Context) -> Sheet:
    """The only sheet of a plan without a slab: what stands in the way."""
    ranked = _ranked(context.plan.findings)
    problems = [blocks.problem(finding) for finding in ranked] or [
        blocks.text("No problems were found in what is stated.")
    ]
    told = blocks.text("There is no board to be cut yet, so there are no other sheets.")
    return Sheet("No board yet", _lead(context), [], [[told, *problems], _not_computed(context.plan.waiting)], "wide")


def overview(context: Context) -> list[Sheet]:
    """The overview, and a sheet of checks and problems where they are many."""
    slab, words, plan = context.slab, context.words, context.plan
    seat = slab.seat
    bars = falling_bars(seat, slab.chosen_fill, words, context.paper.picture_width, 76.0)
    left = [_great_figures(context), blocks.picture(bars), *_procedures(context)]
    ranked = _ranked(plan.findings)
    shown = _that_fit(ranked)
    many = len(shown) < len(ranked)
    stops = sum(finding.severity == "stop" for finding in ranked)
    right: list[Block] = [
        blocks.text(f"Even chance: {words.board(seat.thickness_even)}. Planned for: {words.board(seat.target)}."),
        _moisture(context),
        blocks.heading("Checks and problems"),
    ]
    if stops:
        right.append(blocks.voice("stop", f"{stops} of these: mend before a cut is made."))
    right += [blocks.problem(f) for f in shown] or [blocks.voice("go", "None found.")]
    if many:
        right.append(blocks.text(f"{len(ranked) - len(shown)} more on the next sheet."))
    right += _not_computed(plan.waiting)
    accounts = [("slab.seat.thickness", seat.thickness), ("slab.seat.thickness_low", seat.thickness_low)]
    right.append(blocks.why((words.fine(mm), context.because(path)) for path, mm in accounts))
    lead = _lead(context)
    if len(lead) > LONGEST_LEAD:
        right.insert(0, blocks.text(plain(lead, 400)))
    sheets = [Sheet("What board comes", lead, left, [right])]
    if many:
        half = (len(ranked) + 1) // 2
        columns = [[blocks.problem(f) for f in part] for part in (ranked[:half], ranked[half:])]
        sheets.append(Sheet("Checks and problems", f"{len(ranked)} in all, the gravest first", [], columns, "wide"))
    return sheets
