"""The first sheet: what board comes, how sure, what stands in the way."""

from __future__ import annotations

from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.chart import falling_bars
from slabwright.sheets.context import Context

_ON_THE_FIRST_SHEET = 3


def _moisture(context: Context) -> Block:
    gate = context.slab.moisture
    facts = []
    if gate.core is not None:
        shell = "" if gate.shell is None else f", {gate.shell:.1f} % near the surface"
        facts.append(f"{gate.core:.1f} % at half the thickness{shell}")
    if gate.target is not None:
        facts.append(f"the room asks for {gate.target:.1f} %")
    if gate.wait_low is not None and gate.wait_high is not None and gate.wait_high > 0:
        facts.append(f"likely wait {gate.wait_low:.0f} to {gate.wait_high:.0f} days, a rule of thumb")
    told = "; ".join(facts) if facts else "not measured, or the room's air is not stated"
    if gate.verdict == "go":
        return blocks.voice("go", f"Moisture: {told}.")
    return blocks.voice("stop" if gate.verdict == "stop" else "care", f"Moisture: {told}.")


def _procedures(context: Context) -> list[Block]:
    words, ways = context.words, context.slab.procedures
    if not ways:
        return []
    rows = [
        [
            way.kind[:1].upper() + way.kind[1:],
            ". ".join(way.steps) + ("." if way.steps else ""),
            words.fine(way.thickness_low),
            words.fine(way.movement),
            words.days(way.days),
            "[chosen]" if way.chosen else "",
        ]
        for way in ways
    ]
    chosen = [k for k, way in enumerate(ways) if way.chosen]
    head = ["Way", "Steps", "Sure 19 in 20", "May move", "Takes", ""]
    return [
        blocks.heading("One go, or rough, rest, skim"),
        blocks.table(head, "llrrrl", rows, chosen=chosen, wide=(1,)),
    ]


def overview(context: Context) -> list[Sheet]:
    """The overview, and a sheet of checks and problems where they are many."""
    slab, words, plan = context.slab, context.words, context.plan
    seat = slab.seat
    proven = abs(seat.bound - seat.thickness) < 0.05
    left: list[Block] = [
        blocks.figures(
            [
                (
                    words.fine(seat.thickness),
                    "proven: no lie of these readings gives more" if proven else "of the readings",
                    False,
                ),
                (words.fine(seat.thickness_low), "is sure 19 times in 20; the cuts are planned for it", True),
            ]
        ),
        blocks.heading("From the readings to the promise"),
        blocks.picture(falling_bars(seat, words, context.paper.picture_width, 88.0)),
        blocks.text(f"Even chance: {words.board(seat.thickness_even)}. Planned for: {words.board(seat.target)}."),
        *_procedures(context),
    ]
    ranked = sorted(plan.findings, key=lambda f: ("stop", "caution", "note").index(f.severity))
    many = len(ranked) > _ON_THE_FIRST_SHEET
    stops = sum(f.severity == "stop" for f in ranked)
    right: list[Block] = [_moisture(context), blocks.heading("Checks and problems")]
    if stops:
        right.append(blocks.voice("stop", f"{stops} of these stop the work. Mend them before a cut is made."))
    right += [blocks.problem(f) for f in ranked[:_ON_THE_FIRST_SHEET]] or [blocks.voice("go", "None found.")]
    if many:
        right.append(blocks.text(f"{len(ranked) - _ON_THE_FIRST_SHEET} more on the next sheet."))
    if plan.waiting:
        right.append(blocks.heading("Not computed"))
        right += [blocks.text(f"{w.stage[:1].upper()}{w.stage[1:]}: needs {w.waits_for}.") for w in plan.waiting]
    right.append(
        blocks.why(
            [
                (words.fine(seat.thickness), context.because("slab.seat.thickness")),
                (words.fine(seat.thickness_low), context.because("slab.seat.thickness_low")),
            ]
        )
    )
    job = plan.job.stated.job
    lead = job.title if not job.client else f"{job.title}, for {job.client}"
    sheets = [Sheet("What board comes", lead, left, [right])]
    if many:
        half = (len(ranked) + 1) // 2
        columns = [[blocks.problem(f) for f in part] for part in (ranked[:half], ranked[half:])]
        sheets.append(Sheet("Checks and problems", f"{len(ranked)} in all, the gravest first", [], columns, "wide"))
    return sheets
