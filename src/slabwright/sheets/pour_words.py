"""When the epoxy is poured, how long it waits and what is cut then: the same words on every sheet that speaks of it."""

from __future__ import annotations

from math import ceil

from slabwright.finish.resin_results import Rerun, Resin
from slabwright.sheets.context import Context


def poured_of(context: Context) -> Resin | None:
    """The epoxy of the top; None where nothing is poured."""
    finish = context.plan.finish
    return finish.resin if finish is not None and finish.resin.batches else None


def before_skim(context: Context) -> bool:
    """Whether a skim comes after the pours, as it does where the slab rests between roughing and skim."""
    return any(each.chosen and each.kind == "rough, rest, skim" for each in context.slab.procedures)


def files_of(context: Context, again: Rerun) -> list[str]:
    """Numbers of the files that are cut when the epoxy is hard, as the machine has them; none without programs."""
    machine = context.plan.machine
    if machine is None:
        return []
    found: dict[int, list[str]] = {}
    for program in machine.programs:
        if program.face == again.face and program.stage == again.stage:
            found.setdefault(program.clamping, []).append(program.name[:2])
    return [name for names in found.values() for name in (names if again.depths is None else names[-again.depths :])]


def cut_then(context: Context, again: Rerun) -> str:
    """What is cut when the epoxy is hard, as a sentence."""
    files = files_of(context, again)
    named = f"file{'' if len(files) == 1 else 's'} {', '.join(files)}"
    if again.stage == "skim":
        depths = len(again.passes(context.slab.passes))
        told = named if files else f"{depths} depth{'' if depths == 1 else 's'}"
        return f"Then skim face {again.face}: {told}."
    told = named if files else "its last depth"
    return f"Then face {again.face} once more in the same set-up, z zeroed at the same place: {told}."


def when_poured(context: Context) -> str:
    """Between which cuts the epoxy is poured."""
    return (
        "after roughing and the rest, before the skim" if before_skim(context) else "after the last depth of its face"
    )


def hardens(resin: Resin) -> str:
    """How long it takes from the first batch until it may be cut, in words."""
    return f"{ceil(resin.wait):d} hours"
