"""The words of the machine's sheets: what is done in a clamping, what to look at after a depth, what comes next."""

from __future__ import annotations

from slabwright.machine.results import MachinePlan, Program
from slabwright.machine.setting import Clamping, Stage
from slabwright.quantities import INCH
from slabwright.sheets.context import Context
from slabwright.sheets.pour_words import files_of, hardens, poured_of
from slabwright.sheets.words import NO_BREAK, Words

_DOING: dict[Stage, str] = {"rough": "roughing", "skim": "skimming", "only": "cutting"}


def doing(clamping: Clamping) -> str:
    """What is done in a clamping, such as `roughing face A`."""
    return f"{_DOING[clamping.stage]} face {clamping.face}"


def title_of(clamping: Clamping, machine: MachinePlan) -> str:
    """The clamping's own title."""
    return f"Clamping {clamping.number} of {len(machine.clampings)}: {doing(clamping)}"


def carried_by(clamping: Clamping, context: Context) -> str:
    """What the slab lies on, such as `face A, roughed`."""
    if clamping.lies_on == "stacks":
        return "its stacks"
    finished = clamping.stage == "only" or (clamping.stage == "skim" and clamping.face == context.faces[1])
    return f"{clamping.lies_on}, {'finished' if finished else 'roughed'}"


def turned_over(clamping: Clamping, machine: MachinePlan) -> bool:
    """Whether the slab is turned over before this clamping."""
    before = _neighbour(clamping, machine, -1)
    return before is not None and before.face != clamping.face


def slid(clamping: Clamping, machine: MachinePlan) -> float:
    """How far along the slab is set down before this clamping, to greater x [mm]; 0 where it is not, or is turned over too."""
    before = _neighbour(clamping, machine, -1)
    if before is None or before.face != clamping.face:
        return 0.0
    return clamping.moved - before.moved


def _neighbour(clamping: Clamping, machine: MachinePlan, step: int) -> Clamping | None:
    index = clamping.number - 1 + step
    return machine.settings[index] if 0 <= index < len(machine.settings) else None


def minutes(time: float) -> str:
    """A span of machine time."""
    if time >= 99.5:
        whole = round(time)
        return f"{whole // 60}{NO_BREAK}h {whole % 60}{NO_BREAK}min"
    return f"{time:.{0 if time >= 9.95 else 1}f}{NO_BREAK}min"


def along_edge(mm: float, words: Words) -> str:
    """What an insert edge cuts, in metres or feet."""
    if words.metric:
        metres = mm / 1000.0
        return f"{metres:.0f} m" if metres < 9999.5 else f"{metres / 1000.0:.1f} km"
    return f"{mm / INCH / 12.0:.0f} ft"


def level_of(level: float, words: Words) -> str:
    """A depth's level above the finished plane, without its unit, with its sign."""
    text = words.number(level, 2 if words.metric and abs(level * 10.0 - round(level * 10.0)) > 0.05 else 1)
    return text if float(text.replace("−", "-")) == 0.0 else f"+{text}"


def lifts_of(program: Program) -> str:
    """How often the cutter is lifted."""
    return "no lift" if program.lifts == 0 else f"{program.lifts} lift{'s' if program.lifts != 1 else ''}"


def look_at(context: Context, clamping: Clamping, level: float) -> list[str]:
    """What to look at after a depth, each to tick."""
    slab, words = context.slab, context.words
    first, last = level == clamping.levels[0], level == clamping.levels[-1]
    said: list[str] = []
    if first and not last:
        fresh = clamping.stage != "skim"
        said = ["Only the high spots cut" if fresh else "An even cut all over", "No tear-out, no burning"]
    elif not last:
        said = ["Clamps and wedges tight", "Edges sharp, no tear-out"]
    if not last:
        return said
    low = bool(slab.patches) and clamping.face == slab.show_face and clamping.stage != "skim"
    if clamping.overlap is not None:
        said = [f"Steps left at the far end: clamping {clamping.number + 1} cuts them off"]
    elif clamping.stage == "rough":
        said = ["Cut all over" + (" but where fill goes" if low else "")]
    else:
        said = ["No ridges; no skips" + (" but where fill goes" if low else "")]
    said.append("Straightedge, sticks: write them down")
    if clamping.face == context.faces[1] and clamping.stage != "rough" and clamping.overlap is None:
        said.append(f"Thickness {words.fine(slab.seat.milled)} at five places")
    return said


def after_it(context: Context, machine: MachinePlan, clamping: Clamping) -> list[str]:
    """What comes after a clamping, in short lines."""
    following = _neighbour(clamping, machine, 1)
    said: list[str] = []
    resin = poured_of(context)
    for again in resin.rerun if resin is not None else ():
        here = again.stage == "only" == clamping.stage and again.face == clamping.face and clamping.overlap is None
        if here and resin is not None:
            files = ", ".join(files_of(context, again)) or "the last depth"
            said.append(
                f"Fill and mend by the mixing cards, {hardens(resin)}; then {files} once more, z zeroed as before."
            )
    if following is None:
        return [*said, "Last clamping: on to filling, sanding, checks."]
    rest = context.plan.job.shop.allowance.rest_days
    if following.stage == "skim" and clamping.stage == "rough":
        said.append(f"Rest {context.words.days(rest)}, read again.")
        if resin is not None:
            said.append(f"Fill and mend by the mixing cards: {hardens(resin)} until it is hard. Then:")
    if following.face != clamping.face:
        said.append(f"Turn over, face {following.face} up: clamping {following.number}.")
    else:
        way = "left" if following.moved < clamping.moved else "right"
        said.append(f"Lift it, set it down farther {way}: clamping {following.number}.")
    return said
