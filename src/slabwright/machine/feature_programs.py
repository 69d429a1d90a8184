"""Programs that machine the features of a top, where the top was found to lie."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from slabwright.accounts import figure, working
from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.geometry.faces import FaceName
from slabwright.job.models import Machine
from slabwright.machine.datum_checks import FeaturePlace
from slabwright.machine.feature_check import FeatureCheck, Lying, check_feature, stock_around
from slabwright.machine.feature_paths import Bit, bit_for, clearing_path, depth_steps, flowing_time, peck_path
from slabwright.machine.frame import KeepOut
from slabwright.machine.located import FaceUp, Located
from slabwright.machine.pockets import SAME, Cut
from slabwright.machine.program_check import Limits
from slabwright.machine.rs274 import program_text
from slabwright.machine.toolpath import Toolpath
from slabwright.quantities import Units, format_length

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

THROUGH = 0.5
"""A through cut goes on into the board of waste wood by this much, if that is there [mm]. Common practice."""
_CORNER = 1.0
"""Less wood than this in the corners, in square millimetres, is not told."""

Tool = Literal["bit", "drill"]


@dataclass(frozen=True)
class FeatureProgram:
    """The program of one feature, run on the wood before."""

    name: str = figure("", "of its file")
    feature: str = figure("", "the feature", rests_on=["job:top.features"])
    kind: str = figure("", "what it is")
    number: int = figure(
        "1", "in the order of the work", how="what lies higher first: a pocket before the holes in its floor"
    )
    tool: Tool = figure(
        "", "the bit, or a drill as wide as the hole where the bit is wider", rests_on=["job:top.features"]
    )
    diameter: float = figure("mm", "of that tool")
    floor: float = figure(
        "mm",
        "height of the floor above the face that is down; below nothing: into the board of waste wood under it",
        how="thickness less the depth",
        rests_on=["job:top.features", "board.thickness"],
    )
    depths: tuple[float, ...] = figure(
        "mm",
        "of each pass, below where the feature begins",
        how="even steps of at most the greatest depth of a pass, and half the bit's diameter",
        rests_on=["shop:machine.greatest_depth"],
        source=COMMON_PRACTICE,
    )
    time: float = figure(
        "min",
        "running time, with lifts and acceleration",
        how="a stop at every sharp turn; round arcs no faster than the acceleration allows",
        rests_on=["shop:machine.feed", "shop:machine.rapid", "shop:machine.acceleration"],
    )
    corner_area: float = figure(
        "mm2",
        "left in corners that the bit does not enter",
        how="the shape, less what a round cutter can take out of it",
        change="a smaller bit, or a chisel",
    )
    check: FeatureCheck | None = figure("", "what the simulated wood shows; empty where there is no path")
    passed: bool = figure("", "whether it may be written", how="the simulation let it through")
    refusal: str = figure("", "why there is no program; empty where there is one")
    text: str = working("")
    path: Toolpath | None = working(None)


def cut_of(
    name: str,
    kind: str,
    core: BaseGeometry,
    radius: float,
    upper: float,
    lower: float,
    *,
    thickness: float,
    face_up: FaceUp,
) -> Cut:
    """A cut for the clamping with this face up, from depths below the show face.

    Args:
        name: of the feature
        kind: what it is
        core: a point, a line or a polygon, in the drawing [mm]
        radius: by which it is grown [mm]
        upper: depth of its upper end below the show face [mm]
        lower: depth of its lower end below the show face [mm]
        thickness: of the top [mm]
        face_up: the face that is up
    """
    top, floor = (thickness - upper, thickness - lower) if face_up == "show" else (lower, upper)
    return Cut(name, kind, core, radius, top, floor)


def feature_places(features: Sequence[Cut], clearance: float | Mapping[str, float]) -> dict[str, FeaturePlace]:
    """Where each feature is, for `locate`: its middle, and the corners of the box round it.

    Args:
        features: cores in the drawing; those of one name count as one feature
        clearance: that its place may be off by; one for all, or by name [mm]
    """
    boxes: dict[str, tuple[float, float, float, float]] = {}
    for cut in features:
        low_x, low_y, high_x, high_y = cut.shape().bounds
        old = boxes.get(cut.name, (low_x, low_y, high_x, high_y))
        boxes[cut.name] = (min(low_x, old[0]), min(low_y, old[1]), max(high_x, old[2]), max(high_y, old[3]))
    places = {}
    for name, (low_x, low_y, high_x, high_y) in boxes.items():
        room = clearance[name] if isinstance(clearance, Mapping) else clearance
        corners = ((low_x, low_y), (high_x, low_y), (high_x, high_y), (low_x, high_y))
        places[name] = FeaturePlace((low_x + high_x) / 2.0, (low_y + high_y) / 2.0, room, corners)
    return places


def feature_programs(
    features: Sequence[Cut],
    located: Located,
    machine: Machine,
    thickness: float,
    *,
    bit: Bit | None = None,
    outline: BaseGeometry | None = None,
    under: float = 0.0,
    keep_out: Sequence[KeepOut] = (),
    face: FaceName = "A",
    units: Units = "metric",
    comments: Sequence[str] = (),
) -> tuple[FeatureProgram, ...]:
    """A program for each feature, in the order of the work, each run on the wood that the ones before left.

    Args:
        features: cut from the face that is up; cores in the drawing, heights above the face that is down
        located: how the top lies
        machine: travel, feeds, greatest depth
        thickness: of the top [mm]
        bit: the cutter; None: a usual one for this machine
        outline: of the top in the drawing; None: wood wherever a feature is
        under: thickness of the board of waste wood under the top [mm]
        keep_out: clamps, stops and wedges on the machine
        face: of the slab that is up, for the headings
        units: of the messages
        comments: lines for each program's heading
    """
    bit = bit or bit_for(machine)
    lying = Lying(
        None if outline is None else _onto_machine(outline, located),
        under,
        thickness,
        machine.block_height,
        tuple(keep_out),
    )
    clamps = max((keep.top for keep in keep_out), default=0.0)
    safe = max(under + thickness, clamps) + machine.safe_height
    earlier: list[tuple[Cut, float]] = []
    programs: list[FeatureProgram] = []
    order = sorted(features, key=lambda cut: (-cut.top, -cut.floor))
    for number, drawn in enumerate(order, 1):
        cut = _on_machine(drawn, located, under)
        # A hole that the bit does not enter is drilled.
        drilled = cut.round_hole and cut.radius < bit.radius - SAME
        tool = replace(bit, diameter=2.0 * cut.radius, depth_step=_peck(cut, machine)) if drilled else bit
        program = _program(
            drawn,
            cut,
            tool,
            "drill" if drilled else "bit",
            number,
            lying,
            earlier,
            machine,
            safe,
            face,
            units,
            comments,
        )
        programs.append(program)
        if program.path is not None:
            earlier.append((cut, tool.radius))
    return tuple(programs)


def _peck(cut: Cut, machine: Machine) -> float:
    """One diameter, and no more than a pass may take: common practice."""
    return min(2.0 * cut.radius, machine.greatest_depth)


def _on_machine(cut: Cut, located: Located, under: float) -> Cut:
    """The cut where the top lies, with heights above the bed; a through cut goes on into waste wood."""
    floor = under + cut.floor
    if cut.floor <= 0.0:
        floor = under - min(THROUGH, under / 2.0)
    return replace(cut, core=_onto_machine(cut.core, located), top=under + cut.top, floor=floor)


def _onto_machine(shape: BaseGeometry, located: Located) -> BaseGeometry:
    from shapely.affinity import affine_transform

    return affine_transform(shape, list(located.matrix()))


def _program(
    drawn: Cut,
    cut: Cut,
    tool: Bit,
    which: Tool,
    number: int,
    lying: Lying,
    earlier: Sequence[tuple[Cut, float]],
    machine: Machine,
    safe: float,
    face: FaceName,
    units: Units,
    comments: Sequence[str],
) -> FeatureProgram:
    depth = cut.top - cut.floor
    refusal = ""
    path: Toolpath | None = None
    whole = lying.under + lying.thickness - cut.floor
    if tool.cutting_length is not None and which == "bit" and whole > tool.cutting_length:
        refusal = (
            f"its floor lies {format_length(whole, units)} below the face; the bit cuts to "
            f"{format_length(tool.cutting_length, units)}"
        )
    else:
        path = peck_path(cut, tool, safe=safe) if which == "drill" else clearing_path(cut, tool, safe=safe)
        if path is None:
            refusal = f"the bit, {format_length(tool.diameter, units)} wide, does not enter it"
    name = f"feature-{number:02d}-{_slug(drawn.name)}.ngc"
    text, check, minutes = "", None, 0.0
    if path is not None:
        setting = stock_around(cut, tool.radius, lying, earlier)
        text = program_text(
            path,
            replace(setting, face=face, plane=lying.under + lying.thickness),  # the heading counts from the face
            name=name,
            units=machine.program_units,
            cutter_diameter=tool.diameter,
            spindle_speed=tool.spindle_speed,
            comments=[*comments, f"feature: {drawn.name}, {drawn.kind}, with a {which}"],
        )
        check = check_feature(text, cut, setting, limits_for(machine, tool), units)
        minutes = flowing_time(path, rapid=machine.rapid, acceleration=machine.acceleration)
    shape = cut.shape()
    left = 0.0 if path is None else float(shape.difference(cut.opened(tool.radius)).area)
    steps = depth_steps(cut.top, cut.floor, tool.depth_step)
    return FeatureProgram(
        name=name,
        feature=drawn.name,
        kind=drawn.kind,
        number=number,
        tool=which,
        diameter=tool.diameter,
        floor=cut.floor - lying.under,
        depths=tuple(cut.top - level for level in steps) if depth > 0.0 else (),
        time=minutes,
        corner_area=left if left >= _CORNER else 0.0,
        check=check,
        passed=check is not None and check.passed,
        refusal=refusal,
        text=text,
        path=path,
    )


def limits_for(machine: Machine, tool: Bit) -> Limits:
    """What the machine may do with this tool."""
    return Limits(
        cutter_diameter=tool.diameter,
        corner_radius=0.0,
        stepover=tool.stepover,
        greatest_depth=tool.depth_step,
        greatest_feed=machine.feed_most or max(machine.feed, tool.feed),
        plunge_feed=tool.plunge_feed,
        travel_x=(0.0, machine.travel_x),
        travel_y=(0.0, machine.travel_y),
        travel_z=(0.0, machine.travel_z),
        greatest_speed=machine.spindle_speed_most or math.inf,
    )


def _slug(name: str) -> str:
    plain = "".join(letter if letter.isascii() and letter.isalnum() else "-" for letter in name.lower())
    return "-".join(part for part in plain.split("-") if part) or "feature"


def feature_findings(
    programs: Sequence[FeatureProgram], located: Located, under: float, units: Units
) -> tuple[Finding, ...]:
    """What is to be known before the features are cut.

    Args:
        programs: of the features
        located: how the top lies
        under: thickness of the board of waste wood under the top [mm]
        units: of the messages
    """
    found: list[Finding] = []
    for one in programs:
        if one.refusal:
            found.append(
                Finding(
                    "machine/feature-bit",
                    "stop",
                    f"'{one.feature}' cannot be cut: {one.refusal}.",
                    "Use a bit that is narrow and long enough, or make the feature wider or shallower.",
                )
            )
        elif one.check is not None and not one.check.passed:
            found.append(
                Finding(
                    "machine/feature-program",
                    "stop",
                    f"The program of '{one.feature}' did not pass when it was run on the wood, so it is not written: "
                    f"{one.check.faults[0]}.",
                    "Move the clamp, the top on the bed or the feature that it meets; or a smaller depth of pass.",
                )
            )
        if one.corner_area:
            found.append(
                Finding(
                    "machine/feature-corners",
                    "note",
                    f"The bit leaves corners of '{one.feature}' round, at a radius of "
                    f"{format_length(one.diameter / 2.0, units)}.",
                    "Cut them out with a chisel, round what goes in, or use a smaller bit.",
                )
            )
    through = [one.feature for one in programs if one.path is not None and one.floor <= 0.0]
    if through and under <= 0.0:
        found.append(
            Finding(
                "machine/no-board-under",
                "stop",
                f"'{through[0]}' goes through the top, and nothing is stated to lie under it: the bit would end on the bed.",
                "Lay a flat board of waste wood under the top and state its thickness.",
            )
        )
    if not located.go and programs:
        found.append(
            Finding(
                "machine/feature-hold",
                "stop",
                "The programs of the features follow where the top was found, but that is not sure enough to cut yet.",
                "First settle what locating has to say.",
            )
        )
    return tuple(found)
