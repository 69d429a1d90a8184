"""What the machine room hands on: each program with its time and what it leaves, and the figures of the whole."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure, working
from slabwright.machine.frame import FaceName, Setting
from slabwright.machine.toolpath import Toolpath


@dataclass(frozen=True)
class Program:
    """One depth of one setting: one file, after which the maker stops and looks. It was run on the simulator before."""

    name: str = figure("", "of its file")
    face: FaceName = figure("", "the face that is cut")
    setting: int = figure("1", "the clamping, from 1")
    stage: Literal["rough", "skim", "only"] = figure("", "roughing, skim, or all in one go")
    number: int = figure("1", "the depth, from 1, in the order of the work")
    level: float = figure("mm", "height of the cutter above the finished plane")
    time: float = figure("min", "with lifts and acceleration")
    time_bound: float | None = figure(
        "min", "no plan whose cuts are at most a stepover wide is faster; empty where that does not hold"
    )
    cut_length: float = figure("mm", "fed through wood")
    air_length: float = figure("mm", "fed outside wood")
    lifts: int = figure("1", "times that the cutter is lifted and moved")
    edge_length: float = figure("mm", "cut by each insert edge, on its own circle")
    deepest: float = figure("mm", "deepest bite of the cutter in the simulation")
    left_area: float = figure("mm2", "where wood still stands above the finished plane afterwards")
    left_volume: float = figure("mm3", "of wood still above the finished plane afterwards")
    passed: bool = figure("", "whether the simulator let it through; a program that fails is not written")
    text: str = working()
    path: Toolpath = working()


@dataclass(frozen=True)
class MachinePlan:
    """The machine's part of the job."""

    programs: tuple[Program, ...] = figure("", "in the order of the work")
    time: float = figure("min", "of all programs")
    time_whole: float = figure("min", "of running the whole rectangle at every depth, by the same reckoning")
    edge_length: float = figure("mm", "cut by each insert edge in all")
    settings: tuple[Setting, ...] = working()
