"""What the machine room hands on: each program with its time and what it leaves, and the figures of the whole."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure, working
from slabwright.findings import COMMON_PRACTICE
from slabwright.geometry.faces import FaceName
from slabwright.machine.error_costs import ErrorCost
from slabwright.machine.feeds import Feeds
from slabwright.machine.locating import Locating
from slabwright.machine.setting import Clamping
from slabwright.machine.sled import SledPlan
from slabwright.machine.toolpath import Toolpath

_SIMULATED = "from running the program's own text on the wood"
_SPEEDS = ("shop:machine.feed", "shop:machine.rapid", "shop:machine.acceleration")


@dataclass(frozen=True)
class ClampingFigures:
    """One clamping: a face up, what carries the slab, and where the finished plane is."""

    number: int = figure("1", "in the order of the work")
    face: FaceName = figure("", "the face that is up and is cut")
    stage: Literal["rough", "skim", "only"] = figure("", "roughing, skim, or all in one go")
    lies_on: Literal["stacks", "face A", "face B"] = figure("", "what carries the slab")
    plane: float = figure(
        "mm",
        "height of the finished plane above the bed",
        how="first face: as it lies on its stacks; second: the milled thickness, and the rest under it while there is one",
        rests_on=["slab.seat.milled", "slab.shims.raised", "shop:allowance.rest"],
        sure="as well as z is zeroed: machine.error_costs",
    )
    plane_over_block: float = figure(
        "mm",
        "the same above the fixed block where z is zeroed",
        how="plane less the block's height",
        rests_on=["shop:machine.block_height"],
    )
    window_from: float = figure(
        "mm", "x from which this clamping cuts, along the bed", rests_on=["shop:machine.travel_x"]
    )
    window_to: float = figure("mm", "x up to which it cuts", rests_on=["shop:machine.travel_x"])
    highest: float = figure(
        "mm",
        "highest wood above the bed before the first cut",
        how="the highest reading; where nothing was read, the highest and a margin of 1 mm",
        rests_on=["job:slab.survey"],
        source=COMMON_PRACTICE,
        rounds="up",
    )


@dataclass(frozen=True)
class Program:
    """One depth of one clamping: one file, after which the maker stops and looks. It was run on the simulator before."""

    name: str = figure("", "of its file")
    face: FaceName = figure("", "the face that is cut")
    clamping: int = figure("1", "the clamping, from 1")
    stage: Literal["rough", "skim", "only"] = figure("", "roughing, skim, or all in one go")
    number: int = figure("1", "in the order of the work")
    level: float = figure(
        "mm",
        "height of the cutter above the finished plane",
        how="a safe first depth, steps of the greatest depth, a thin last one",
        rests_on=["shop:machine.first_depth", "shop:machine.greatest_depth", "shop:machine.last_depth"],
    )
    time: float = figure(
        "min",
        "running time, with lifts and acceleration",
        how="each straight stretch from standstill to standstill",
        rests_on=_SPEEDS,
        change="a faster feed, a wider stepover, a deeper bite, as the cutter's maker allows",
    )
    time_bound: float | None = figure(
        "min",
        "that no program whose cuts are at most a stepover wide could beat; empty with clamps or two clampings: it does not "
        "hold there",
        how="area that stands above this level over stepover times feed",
        rests_on=["shop:machine.stepover", "shop:machine.feed"],
    )
    cut_length: float = figure("mm", "fed through wood", how=_SIMULATED)
    air_length: float = figure("mm", "fed outside wood", how=_SIMULATED)
    lifts: int = figure("1", "times that the cutter is lifted and comes down again", how="counted in the program")
    edge_length: float = figure(
        "mm",
        "cut by each insert edge, on its own circle",
        how="turns of the spindle while it is fed through wood, times the arc that stands in wood",
        rests_on=["shop:machine.spindle_speed", "shop:machine.cutter_diameter", "shop:machine.feed"],
    )
    deepest: float = figure(
        "mm",
        "deepest bite of the cutter",
        how=_SIMULATED,
        sure="at most shop:machine.greatest_depth",
        rounds="up",
    )
    left_area: float = figure("mm2", "where wood still stands above the finished plane afterwards", how=_SIMULATED)
    left_volume: float = figure("mm3", "of wood still above the finished plane afterwards", how=_SIMULATED)
    passed: bool = figure(
        "", "whether the simulation let it through; a program that fails is not written", how=_SIMULATED
    )
    text: str = working()
    path: Toolpath = working()


@dataclass(frozen=True)
class MachinePlan:
    """The machine's part of the job."""

    kind: Literal["gantry", "sled"] = figure("", "a gantry router, or a router sled", rests_on=["shop:machine.kind"])
    clampings: tuple[ClampingFigures, ...] = figure("", "in the order of the work")
    programs: tuple[Program, ...] = figure("", "in the order of the work; none for a sled")
    time: float = figure("min", "running time of all programs", how="added up", rests_on=_SPEEDS)
    edge_length: float = figure(
        "mm", "cut by each insert edge in all", how="added up", rests_on=["shop:machine.insert_life"]
    )
    edges_used: float | None = figure(
        "1",
        "lives of an insert edge that it takes; empty where the life is not stated",
        how="length cut by each edge over its life",
        rests_on=["machine.edge_length", "shop:machine.insert_life"],
    )
    feeds: Feeds = figure("", "chip load, power and surface")
    error_costs: tuple[ErrorCost, ...] = figure("", "what each error costs in the promised thickness")
    sled: SledPlan | None = figure("", "rails and depths of a router sled")
    locating: Locating | None = figure(
        "", "how the top lies for its features; empty where nothing was touched", default=None
    )
    settings: tuple[Clamping, ...] = working(())
