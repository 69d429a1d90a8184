"""The tasks of an assembly: what is laid, set, bolted, tied, bonded, turned and levelled, and what each waits for."""

from __future__ import annotations

from collections.abc import Sequence

from slabwright.base.basing import BasePlan
from slabwright.carry.assembly_crew import Crews
from slabwright.carry.assembly_order import Task
from slabwright.carry.assembly_results import AssemblyWay, BoltTask, Bond, Stands, SteelFrame, Turning
from slabwright.carry.assembly_ways import UPSIDE_DOWN
from slabwright.carry.cables_results import CableRoute
from slabwright.job.top_models import Bar, Outlet
from slabwright.quantities import INCH, POUND, Units, format_length, format_mass
from slabwright.top.results import TopPlan

TOP_SHEET = "Top, underside"
BASE_SHEET = "The base"
CABLE_SHEET = "Cables"
_INCH_POUND = INCH / 1000.0 * POUND * 9.80665
"""One inch-pound [N m]."""
_MAINS = "Only listed assemblies, unplugged; the maker's sheet and the local code say how. Anything fixed: licensed practice."


def tasks_of(
    *,
    way: AssemblyWay,
    base: BasePlan,
    top: TopPlan,
    frames: Sequence[SteelFrame],
    crews: Crews,
    stands: Stands | None,
    turned: Sequence[Turning],
    bolts: Sequence[BoltTask],
    routes: Sequence[CableRoute],
    bonds: Sequence[Bond],
    units: Units,
) -> list[Task]:
    """Every task of the assembly, in a natural order; what each waits for is stated, and nothing else is."""
    down = way.name == UPSIDE_DOWN
    found: list[Task] = []
    laid: tuple[str, ...] = ()
    if stands is not None:
        found += _on_stands(stands, turned[0], units)
        found += _underside(top, routes)
        laid = tuple(task.key for task in found if task.kind in ("prepare", "cable") and task.key != "stands")
    found += _levellers(base, frames, units)
    if not down:
        found += _base_first(base, frames, crews, turned, laid, units)
    for frame in frames if down else ():
        covers = [
            name for route in routes if set(route.laid_before) & set(frame.covers) for name in (f"lay {route.name}",)
        ]
        found.append(
            Task(
                f"set {frame.name}",
                f"Set the {frame.name} on, its plates into their pockets; look that the slots stand over their inserts",
                "lift",
                ("face down", *covers, *(f"bar {f.name}" for f in _bars(top)), *(f"feet {n}" for n in [frame.name])),
                (frame.name,),
                crews.frame(frame).people,
                crews.frame(frame).tool,
                f"{format_mass(frame.mass, units)}: feet clear; it leans until its bolts hold, so one person keeps it",
                BASE_SHEET,
            )
        )
    on = tuple(f"set {frame.name}" for frame in frames) if down else ("let down",)
    found += _bolting(frames, bolts, on, units)
    tight = tuple(task.key for task in found if task.kind == "bolt")
    found += _cables_on_steel(routes, tight)
    tied = tuple(task.key for task in found if task.kind == "cable")
    for bond in bonds:
        found.append(
            Task(
                f"bond {bond.frame}",
                f"Bond the {bond.frame} to earth: {bond.how}; measured to the plug's earth pin: {bond.most:g} ohm at most",
                "earth",
                (*tight, *tied),
                (bond.frame,),
                1,
                "spanner, meter",
                "Licensed practice bonds and measures.",
                CABLE_SHEET,
            )
        )
    closed = (*tight, *tied, *(f"bond {bond.frame}" for bond in bonds))
    if down:
        turn = turned[-1]
        found.append(
            Task(
                "turn over",
                f"Turn the whole piece {turn.how}, and set it on its feet; {format_length(turn.room, units)} of free floor",
                "turn",
                closed,
                ("top", *(frame.name for frame in frames)),
                turn.people,
                f"{turn.tool}, pads",
                f"{format_mass(turn.mass, units)}. Nobody under it; lift by the top, not by the legs; cables tied up first",
            )
        )
    stood = ("turn over",) if down else closed
    levelled = f"{len(base.drawn.feet)} levellers" if base.drawn.stud is not None else "pads under the glides"
    nuts, by_hand = (
        (", lock nuts tight", "Lift an end off its foot to turn a leveller; no hand under a foot")
        if base.drawn.stud is not None
        else ("", "Lift an end to slip a pad in; no hand under a foot")
    )
    found.append(
        Task(
            "level",
            f"Where it will stand: level along and across with the {levelled}, last of all; every foot bears{nuts}",
            "level",
            stood,
            tuple(name for name, _, _ in base.drawn.feet),
            1,
            "level, spanner",
            by_hand,
            "How the base stands",
        )
    )
    if routes:
        found.append(
            Task(
                "test",
                "Plug in, try every outlet; pull at each cord by hand: its strain relief holds it",
                "cable",
                ("level", *closed),
                tuple(route.name for route in routes),
                1,
                "tester",
                _MAINS if any(route.mains for route in routes) else "",
                CABLE_SHEET,
            )
        )
    slotted = tuple(bolt.name for bolt in bolts if not bolt.fixed)
    if slotted:
        found.append(
            Task(
                "again",
                "After the first winter and the first summer: bolts in slots still snug, their washers still slide",
                "bolt",
                ("level",),
                slotted,
                1,
                bolts[0].tool,
                "Not tighter: the wood has to move",
                TOP_SHEET,
            )
        )
    return found


def format_torque(newton_metres: float, units: Units) -> str:
    """A torque as a wrench shows it: newton metres, or inch-pounds."""
    return f"{newton_metres:g} N m" if units == "metric" else f"{newton_metres / _INCH_POUND:.0f} in lb"


def _bars(top: TopPlan) -> list[Bar]:
    return [f for f in top.layout.top.features if isinstance(f, Bar) and f.face == "underside"]


def _on_stands(stands: Stands, turn: Turning, units: Units) -> list[Task]:
    places = " and ".join(format_length(place, units) for place in stands.places)
    return [
        Task(
            "stands",
            f"Two padded stands, {format_length(stands.height, units)} high, at {places} from the top's left end",
            "prepare",
            (),
            ("stands",),
            1,
            "tape",
            "Firm floor, stands that do not walk; nobody leans on an end of the top",
        ),
        Task(
            "face down",
            f"Lay the top on them, show face down; the hands work at {format_length(stands.work, units)}",
            "lift",
            ("stands",),
            ("top",),
            turn.people,
            f"{turn.tool}, clean felt",
            f"{format_mass(turn.mass, units)}, half at each end. Finish cured. Nobody under it",
        ),
    ]


def _underside(top: TopPlan, routes: Sequence[CableRoute]) -> list[Task]:
    """What is done to the underside before the base is on it."""
    found = [
        Task(
            f"bar {bar.name}",
            f"Lay '{bar.name}' into its groove; its screws in their slots snug",
            "prepare",
            ("face down",),
            (bar.name,),
            1,
            "screwdriver",
            "",
            TOP_SHEET,
        )
        for bar in _bars(top)
    ]
    found.append(
        Task(
            "inserts",
            "Blow out every insert; run each bolt in by hand to its length, and out again",
            "prepare",
            ("face down",),
            (),
            1,
            "bolt, air",
            "Eyes covered",
            TOP_SHEET,
        )
    )
    kinds = {f.name: f for f in top.layout.top.features if isinstance(f, Outlet)}
    units_of = dict.fromkeys(route.outlet for route in routes if route.outlet in kinds)
    found += [
        Task(
            f"unit {name}",
            f"The unit of '{name}' in from the show face, its cord first; ring and nut on the underside hand-tight; its loop "
            "left in the recess",
            "prepare",
            ("face down",),
            (name,),
            1,
            "hands",
            _MAINS,
            CABLE_SHEET,
        )
        for name in units_of
    ]
    for route in laying_order(routes):
        if not any(run.kind == "in the channel" for run in route.runs):
            continue
        cover = f", before this goes on: {', '.join(route.laid_before)}" if route.laid_before else ""
        found.append(
            Task(
                f"lay {route.name}",
                f"Lay '{route.name}' in its channels and clip it{cover}",
                "cable",
                ("face down", f"unit {route.outlet}"),
                (route.name,),
                1,
                "clips",
                "No bend tighter than its sheet says; no edge bare",
                CABLE_SHEET,
            )
        )
    return found


def laying_order(routes: Sequence[CableRoute]) -> list[CableRoute]:
    """Covered cables first, then the longest way first: the one that ends first lies on top."""
    return sorted(routes, key=lambda route: (not route.laid_before, -route.fixed_length, route.name))


def _levellers(base: BasePlan, frames: Sequence[SteelFrame], units: Units) -> list[Task]:
    if base.drawn.stud is None:
        return []
    return [
        Task(
            f"feet {frame.name}",
            f"Levellers into the {frame.name}, to the middle of their travel: floor to steel "
            f"{format_length(base.drawn.foot_length, units)}",
            "prepare",
            (),
            frame.feet,
            1,
            "spanner",
            "",
            BASE_SHEET,
        )
        for frame in frames
        if frame.feet
    ]


def _base_first(
    base: BasePlan,
    frames: Sequence[SteelFrame],
    crews: Crews,
    turned: Sequence[Turning],
    laid: tuple[str, ...],
    units: Units,
) -> list[Task]:
    crew = crews.frame(max(frames, key=lambda frame: frame.mass))
    ends = sorted({round(plate.x, 1) for plate in base.drawn.plates})
    apart = (
        f", {format_length(ends[-1] - ends[0], units)} apart from plate middle to plate middle" if len(ends) > 1 else ""
    )
    braced = any(not frame.stands for frame in frames)
    found = [
        Task(
            "stand",
            f"Stand the base where it will be put together{apart}"
            + (", braced with clamped battens" if braced else ""),
            "lift",
            tuple(f"feet {frame.name}" for frame in frames),
            tuple(frame.name for frame in frames),
            crew.people,
            ", ".join([crew.tool, *(["battens, clamps"] if braced else [])]),
            "Loose legs braced until the bolts hold" if braced else "Feet clear",
            BASE_SHEET,
        )
    ]
    ready: tuple[str, ...] = ("stand", *laid)
    if turned:
        turn = turned[-1]
        found.append(
            Task(
                "face up",
                f"Turn the top face up {turn.how}",
                "turn",
                laid or ("face down",),
                ("top",),
                turn.people,
                f"{turn.tool}, felt",
                f"{format_mass(turn.mass, units)}. Nobody under it; cables tied up first",
            )
        )
        ready = ("stand", "face up")
    found.append(
        Task(
            "let down",
            "Let the top down on the base on four blocks, pilot pins in two inserts; draw the blocks one end at a time",
            "lift",
            ready,
            ("top",),
            crews.top().people,
            f"{crews.top().tool}, blocks, two pins",
            f"{format_mass(crews.masses.top, units)}: no finger between wood and plate; the blocks hold it, not hands",
        )
    )
    return found


def _bolting(frames: Sequence[SteelFrame], bolts: Sequence[BoltTask], on: tuple[str, ...], units: Units) -> list[Task]:
    if not bolts:
        return []
    found = [
        Task(
            "start",
            f"All {len(bolts)} bolts in by hand, washers under their heads, none tight; each where its slot's mark says",
            "bolt",
            (*on, "inserts"),
            tuple(bolt.name for bolt in bolts),
            1,
            "hands",
            "A bolt that binds is taken out and its place looked at; no force",
            TOP_SHEET,
        )
    ]
    for frame in frames:
        mine = [bolt for bolt in bolts if bolt.frame == frame.name]
        for fixed, word in ((True, "fixed"), (False, "slots")):
            some = [bolt for bolt in mine if bolt.fixed == fixed]
            if not some:
                continue
            torque = min((bolt.torque for bolt in some if bolt.torque is not None), default=None)
            said = f", {format_torque(torque, units)} at most" if torque is not None else ""
            what = "The bolt that does not slide" if len(some) == 1 else "The bolts that do not slide"
            do = (
                f"{what} of the {frame.name}: firm{said}"
                if fixed
                else f"Bolts in slots of the {frame.name}, middle outwards: snug, not tight{said}; washers still slide"
            )
            found.append(
                Task(
                    f"{word} {frame.name}",
                    do,
                    "bolt",
                    ("start", f"fixed {frame.name}") if not fixed else ("start",),
                    tuple(bolt.name for bolt in some),
                    1,
                    ", ".join(dict.fromkeys(bolt.tool for bolt in some)),
                    "Crushed wood holds nothing" if fixed else "A tight slot bolt splits the top in its first winter",
                    TOP_SHEET,
                )
            )
    return found


def _cables_on_steel(routes: Sequence[CableRoute], tight: tuple[str, ...]) -> list[Task]:
    found = []
    for route in laying_order(routes):
        steel = [run.name for run in route.runs if run.kind not in ("free", "in the channel")]
        if not steel:
            continue
        found.append(
            Task(
                f"pull {route.name}",
                f"Lead '{route.name}' by {', '.join(dict.fromkeys(steel))}: {route.leads} first, {len(route.ties)} ties in all",
                "cable",
                (*tight, f"lay {route.name}"),
                (route.name,),
                2 if any(run.kind == "inside the tube" for run in route.runs) else 1,
                "draw cord, ties" if any(run.kind == "inside the tube" for run in route.runs) else "ties",
                _MAINS if route.mains else "Grommets in first",
                CABLE_SHEET,
            )
        )
    return found
