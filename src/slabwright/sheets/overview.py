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

_LINE = 4.1
"""From one line of text to the next [mm]."""
_LETTER = 1.66
"""Room for a letter, with what is lost at the ends of lines [mm]."""
_PARAGRAPH = 0.4
"""What parts two paragraphs, in lines."""
_USUAL = "shop/defaults"


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
            f"Sure 19 in 20: {words.least(way.thickness_low)}. Wood may move {words.fine(way.movement)}. "
            f"Waiting: {words.days(way.days)}."
        )
        name = way.kind[:1].upper() + way.kind[1:]
        head = blocks.heading(name, way.chosen)
        columns.append([head, blocks.text(told), blocks.steps(way.steps)])
    return [blocks.heading("How the two faces are worked"), blocks.side_by_side(columns)]


def _great_figures(context: Context) -> Block:
    words, slab = context.words, context.slab
    seat, board = slab.seat, context.plan.board
    proven = abs(seat.bound - seat.thickness) < PLANNED_APART
    apart = abs(seat.target - seat.thickness_low) >= PLANNED_APART
    rows = [
        (words.fine(seat.thickness), "of the readings, proven the most" if proven else "of the readings", False),
        (
            words.least(seat.thickness_low),
            f"is sure 19 times in 20{', planned for' if not apart else ', unfilled' if slab.chosen_fill else ''}",
            not apart,
        ),
    ]
    if board is not None and board.basis == "as made":
        rows[1:] = [(words.fine(board.thickness), "is what was made, measured", True)]
    elif board is not None and board.found > 0 and board.thickness_low < seat.target - PLANNED_APART:
        rows[1:] = [
            (words.fine(seat.target), "was planned for", False),
            (words.least(board.thickness_low), f"is sure after checks found {words.finer(board.found)} lost", True),
        ]
    elif apart:
        rows.append(
            (
                words.fine(seat.target),
                f"is planned for{f', filled by choice {slab.chosen_fill}' if slab.chosen_fill else ''}",
                True,
            )
        )
    return blocks.figures(rows)


def _ranked(findings: Sequence[Finding]) -> list[Finding]:
    return sorted(findings, key=lambda finding: ("stop", "caution", "note").index(finding.severity))


def _lines(told: Sequence[Block], width: float) -> float:
    """About how many lines some blocks of text take in a column [of a width in mm]."""
    letters = width / _LETTER

    def paragraph(*said: str) -> float:
        return sum(ceil(len(part) / letters) for part in said if part) + _PARAGRAPH

    lines = 0.0
    for block in told:
        if block["kind"] == "why":
            lines += sum(paragraph(f"Why {item['figure']}? {item['text']}") for item in block["items"])
        elif block["kind"] == "heading":
            lines += 2.0
        else:
            mends = f"What mends it: {block['remedy']} [{block['source']}]" if block.get("remedy") else ""
            lines += paragraph(("" if block["kind"] == "text" else "O Stop. ") + block["text"], mends)
    return lines


def _that_fit(problems: Sequence[Block], width: float, room: float) -> int:
    """How many problems, from the first, a column has room for [lines]."""
    count = 0
    while count < len(problems) and _lines(problems[: count + 1], width) <= room:
        count += 1
    return count


def _not_computed(waiting: Sequence[Waiting]) -> list[Block]:
    if not waiting:
        return []
    said = [f"{w.stage[:1].upper()}{w.stage[1:]}: needs {w.waits_for}." for w in waiting]
    return [blocks.heading("Not computed"), *(blocks.text(line) for line in said)]


def _lead(context: Context) -> str:
    job = context.plan.job.stated.job
    return job.title if not job.client else f"{job.title}, for {job.client}"


def no_board(context: Context) -> Sheet:
    """The first sheet of a plan without a slab: what stands in the way."""
    ranked = _ranked(context.plan.findings)
    problems = [blocks.problem(finding) for finding in ranked] or [
        blocks.text("No problems were found in what is stated.")
    ]
    told = blocks.text("There is no board to be cut yet, so there are no sheets for the bench.")
    return Sheet("No board yet", _lead(context), [], [[told, *problems], _not_computed(context.plan.waiting)], "wide")


def overview(context: Context) -> list[Sheet]:
    """The overview, and a sheet of checks and problems where they are many."""
    slab, words, plan = context.slab, context.words, context.plan
    seat = slab.seat
    board = plan.board
    bars = falling_bars(seat, slab.chosen_fill, words, context.paper.picture_width, 76.0)
    left = [_great_figures(context), blocks.picture(bars), *_procedures(context)]
    # That the shop's figures are the usual ones is said above them, always.
    ranked = _ranked([finding for finding in plan.findings if finding.code != _USUAL])
    problems = [blocks.problem(finding) for finding in ranked]
    stops = sum(finding.severity == "stop" for finding in ranked)
    above: list[Block] = [
        blocks.text(f"Even chance: {words.fine(seat.thickness_even)}. Planned for: {words.board(seat.target)}."),
        *([blocks.text(context.usual)] if context.usual else []),
        _moisture(context),
        blocks.heading("Checks and problems"),
    ]
    if stops:
        above.append(blocks.voice("stop", f"{stops} of these: mend before a cut is made."))
    lead = _lead(context)
    if len(lead) > LONGEST_LEAD:
        above.insert(0, blocks.text(plain(lead, 400)))
    below: list[Block] = []
    if board is not None and board.found > 0 and board.thickness_low >= seat.target - PLANNED_APART:
        found = words.finer(board.found)
        below.append(blocks.text(f"Checks found {found} lost; what is planned for is still sure."))
    below += _not_computed(plan.waiting)
    accounts = [("slab.seat.thickness", seat.thickness), ("slab.seat.thickness_low", seat.thickness_low)]
    below.append(blocks.why((words.fine(mm), context.because(path)) for path, mm in accounts))
    paper = context.paper
    width, lines = paper.inner_width - paper.picture_width - 7.0, paper.inner_height / _LINE
    # A line is kept for the word that there are more.
    fit = _that_fit(problems, width, lines - _lines([*above, *below], width) - 1.0 - _PARAGRAPH)
    others = problems[fit:]
    right = [*above, *(problems[:fit] or ([] if others else [blocks.voice("go", "None found.")]))]
    if others:
        right.append(blocks.text(f"{len(others)} more on the next sheet."))
    sheets = [Sheet("What board comes", lead, left, [[*right, *below]])]
    told = f"{len(others)} of {len(problems)}; the gravest are on the first sheet"
    while others:
        columns: list[list[Block]] = []
        for _ in range(2):
            fit = max(_that_fit(others, (paper.inner_width - 7.0) / 2, lines), 1)
            columns.append(others[: min(fit, (len(others) + 1) // 2 if not columns else fit)])
            others = others[len(columns[-1]) :]
        sheets.append(Sheet("More checks and problems", told, [], columns, "wide", joins=True))
    return sheets
