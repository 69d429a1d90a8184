"""How a leveller is held: a tapped plate set into the foot of a leg, or a threaded bush welded into a bottom rail."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.base.kinds import Drawn
from slabwright.base.weld_joints import at_nodes, foot_plates
from slabwright.findings import COMMON_PRACTICE
from slabwright.reference.tapping import tapping

_SOURCES = "; ".join(dict.fromkeys(row.source for row in tapping().threads))

BUSH = "weld-in bush"


@dataclass(frozen=True)
class FootThread:
    """The thread that one leveller is screwed into."""

    foot: str = figure("", "which foot", rests_on=("job:base.feet.kind",))
    into: str = figure("", "foot plate or weld-in bush, and the piece that it is welded into", source=COMMON_PRACTICE)
    thread: str = figure("", "its thread", rests_on=("job:base.feet.stud",))
    hole: float = figure(
        "mm",
        "hole to drill: in a foot plate before the tap; for a bush in the rail's bottom wall",
        how="of the table of tap drills; of a bush twice the thread",
        rests_on=("job:base.feet.stud",),
        source=_SOURCES,
    )
    thickness: float = figure(
        "mm",
        "of the steel that is threaded",
        how="foot plate: 0.9 of the thread at least; bush: 1.5",
        source=COMMON_PRACTICE,
    )
    from_end: float = figure("mm", "bush: from the outer end of the rail; foot plate: 0, at its middle")
    make: str = figure("", "how it is made", source=COMMON_PRACTICE)


def foot_threads(drawn: Drawn) -> tuple[FootThread, ...]:
    """The thread under each leveller; none where the base stands on glides or bare.

    A thread in a tube's wall of a few millimetres strips: in a leg's open end it is a plate as thick as the thread, set in
    flush, and in a rail that runs through a bush that is set into its bottom wall, flush outside. Neither adds height.
    """
    if drawn.stud is None:
        return ()
    table = tapping()
    row = table.thread(drawn.stud)
    name = row.name if row is not None else f"Ø {drawn.stud:g} mm"
    drill = row.drill if row is not None else 0.85 * drawn.stud
    open_ends = foot_plates(drawn)
    pieces = at_nodes(drawn)
    found = []
    for foot, node, (_, y) in drawn.feet:
        if node in open_ends:
            thick = table.plate(drawn.stud, drawn.units)
            make = (
                "drill the plate's middle, tap it, set it into the leg flush with its end, a stud screwed in; weld all round,"
                " run the tap through again"
            )
            found.append(FootThread(foot, f"foot plate in {open_ends[node]}", name, drill, thick, 0.0, make))
            continue
        rail = next((piece for piece in pieces.get(node, {}) if "bottom rail" in piece), node)
        ends = [
            abs(drawn.nodes[end][1]) + steel.depth / 2.0
            for member in drawn.members
            if member.part == "frame" and member.name.startswith(rail.split()[0]) and member.name.endswith("upright")
            for end in (member.first, member.last)
            for steel in (member.section,)
            if end.endswith("bottom")
        ]
        make = (
            "drill the bottom wall, set the bush in flush, its thread plugged; weld all round outside before the rail is"
            " closed, grind flush, run a tap through"
        )
        found.append(
            FootThread(
                foot,
                f"{BUSH} in {rail}",
                name,
                table.bush_outside * drawn.stud,
                table.bush_length * drawn.stud,
                max(ends, default=abs(y)) - abs(y),
                make,
            )
        )
    return tuple(found)
