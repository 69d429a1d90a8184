"""The order of the welding: tack, true up, tack, prove, try with the top, then finish clamped and let it cool clamped."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.base.kinds import Place
from slabwright.findings import COMMON_PRACTICE
from slabwright.quantities import Units, format_length

_PLATED = ("plate on an end", "plate on a rail")


@dataclass(frozen=True)
class WeldStep:
    """One step."""

    number: int = figure("1", "its place in the order", how="weld the next only when this one is done")
    title: str = figure("", "what it is", source=COMMON_PRACTICE)
    do: str = figure("", "what is done", source=COMMON_PRACTICE)
    joints: tuple[str, ...] = figure("", "at which joints, in this order; none: at no joint")
    proof: str = figure("", "what must hold before the next step; empty: nothing more")


def weld_order(
    joints: Sequence[tuple[str, str, Place]], tack: float, units: Units, *, joined: bool, plates: int
) -> tuple[WeldStep, ...]:
    """The order in which a base is welded.

    Args:
        joints: name, kind and place of each, as `weld_joints.meetings` gives them
        tack: length of a tack [mm]
        units: of the job
        joined: whether the leg frames are welded to each other
        plates: how many plates hold the top
    """
    places = {name: place for name, _, place in joints}
    across = [
        name
        for name, _, _ in joints
        if name.startswith(("stretcher", "near rail", "far rail", "near stretcher", "far stretcher"))
    ]
    frames = [name for name, kind, _ in joints if kind not in (*_PLATED, "cap") and name not in across]
    plated = [name for name, kind, _ in joints if kind in _PLATED]
    caps = [name for name, kind, _ in joints if kind == "cap"]
    short = format_length(tack, units)
    steps: list[tuple[str, str, Sequence[str], str]] = []
    if frames:
        steps += [
            (
                "Tack one side",
                f"Lay the frame on the flat plate, stops at its outer sides. One tack of {short} at each joint, all on the upper"
                " side, corner after opposite corner.",
                _alternating(frames, places),
                "",
            ),
            (
                "True it up",
                "Measure diagonals and opposite sides. Pull the longer diagonal together with a clamp, or tap the corner; a tack"
                " on one side gives like a hinge.",
                (),
                "diagonals and opposite sides within what the checks allow",
            ),
        ]
    if across:
        steps.append(
            (
                "Join the frames",
                f"Stand the frames up on a flat floor, clamped to blocks. One tack of {short}"
                " at each joint, in turn left and right.",
                _alternating(across, places),
                "diagonals in plan and opposite sides within what the checks allow; no foot rocks",
            )
        )
    if plated:
        steps.append(
            (
                "Tack the plates",
                f"Clamp each plate in its place by its holes, square to the frame. Two tacks of {short} at opposite corners.",
                plated,
                "the plate's middle and its holes stand where the drill plan has them",
            )
        )
    steps.append(
        ("Check", "Do every check of squareness again, rocking on the flat plate too.", (), "all of them hold")
    )
    steps.append(
        (
            "Tack the opposite sides",
            f"Turn it over. One tack of {short} at each joint, opposite the first.",
            _alternating([*frames, *across], places) + tuple(plated),
            "diagonals have not moved",
        )
    )
    steps.append(
        (
            "Mock-up with the top",
            "Lay the top face down on blankets, or a template of its underside. Lay the base on it: plates into pockets, every"
            " bolt by hand. Measure the height. Sign the sheet.",
            (),
            "each plate drops in with its room all round, each bolt turns by hand, height and level are right: signed",
        )
    )
    pairs = " Bolt the plates back to back in pairs: one holds the other flat." if plates > 1 and not joined else ""
    steps.append(
        (
            "Weld out",
            "Clamped to the flat plate, a stretcher of scrap across open ends. Inside corners first, then sides, outside last."
            " Short runs, corner after opposite corner, never two next to each other; hand-warm before the next run there."
            + pairs,
            _alternating([*frames, *across], places) + _alternating(plated, places),
            "",
        )
    )
    steps.append(
        (
            "Let it cool clamped",
            "Until it is hand-warm all over. No water, no air.",
            (),
            "checks of squareness hold again",
        )
    )
    if caps:
        steps.append(
            (
                "Close the ends",
                "Vents drilled. Set each cap and each tapped foot plate in, flush with the end, its edge bevelled; welded all"
                " round in four short runs. A stud in the thread keeps it clean.",
                caps,
                "",
            )
        )
    steps.append(
        (
            "Grind",
            "Flush where the plan says so, no deeper than the tube: a wall ground thin is weaker than its weld. Leave the"
            " fillets. Fill pits. Deburr.",
            (),
            "a straightedge over the joint shows no hollow",
        )
    )
    return tuple(WeldStep(number, *step[:2], tuple(step[2]), step[3]) for number, step in enumerate(steps, 1))


def _alternating(names: Sequence[str], places: Mapping[str, Place]) -> tuple[str, ...]:
    """Each joint after the one that is farthest from it of those left, so that heat comes from opposite places in turn."""
    left = list(names)
    found: list[str] = []
    while left:
        last = places[found[-1]] if found else places[left[0]]
        ranked = [
            (-round(math.dist(places[name], last), 3) if found else 0.0, number) for number, name in enumerate(left)
        ]
        found.append(left.pop(min(ranked)[1]))
    return tuple(found)
