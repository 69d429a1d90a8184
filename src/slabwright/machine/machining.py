"""From the slab's plan to the machine's: clampings, one proven program for each depth, feeds and what errors cost."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from slabwright.findings import Finding
from slabwright.job.loaded import Job
from slabwright.job.models import JobHead
from slabwright.machine.clamp_checks import holding_findings, stack_findings
from slabwright.machine.engagement import edge_length
from slabwright.machine.error_costs import error_costs
from slabwright.machine.feeds import feeds
from slabwright.machine.machine_findings import cost_findings, feed_findings, setting_findings, travel_findings
from slabwright.machine.program_check import limits_of
from slabwright.machine.results import ClampingFigures, MachinePlan, Program
from slabwright.machine.rs274 import program_text, with_comment
from slabwright.machine.setting import Clamping, settings
from slabwright.machine.simulator import Simulation, after, simulate
from slabwright.machine.sled import sled_plan
from slabwright.machine.strips import strips
from slabwright.machine.timing import path_time, time_bound
from slabwright.slab.passes import Run
from slabwright.slab.results import SlabPlan

Progress = Callable[[str], None]


def _file_name(number: int, clamping: Clamping, level: float) -> str:
    """Name of a program's file: in the order of the work, with clamping, face, stage and level in hundredths of a millimetre."""
    return f"{number:02d}-clamping-{clamping.number}-face-{clamping.face.lower()}-{clamping.stage}-{round(level * 100):04d}.ngc"


def _figures(clamping: Clamping) -> ClampingFigures:
    return ClampingFigures(
        number=clamping.number,
        face=clamping.face,
        stage=clamping.stage,
        lies_on=clamping.lies_on,
        plane=clamping.plane,
        plane_over_block=clamping.plane - clamping.block,
        window_from=clamping.window[0],
        window_to=clamping.window[1],
        highest=float(np.nanmax(clamping.stock.top)),
    )


def title_of(head: JobHead) -> str:
    """The line of a program's heading that names the job."""
    return f"{head.title[:80]}, revision {head.revision[:80]}"


def titled(machine: MachinePlan, old: str, new: str) -> MachinePlan:
    """The machine's part for a job that is called otherwise: nothing but a line of each program's heading moves.

    Args:
        machine: the plan
        old: what `title_of` said
        new: what it says now
    """
    programs = tuple(replace(program, text=with_comment(program.text, old, new)) for program in machine.programs)
    locating = machine.locating
    if locating is not None:
        features = tuple(replace(one, text=with_comment(one.text, old, new)) for one in locating.programs)
        locating = replace(locating, programs=features)
    return replace(machine, programs=programs, locating=locating)


def _programs(
    job: Job, clampings: tuple[Clamping, ...], progress: Progress
) -> tuple[tuple[Program, ...], list[tuple[str, Simulation]]]:
    """Every program, each run on the wood that the one before left; and the simulations of those that failed."""
    machine, head = job.shop.machine, job.stated.job
    limits = limits_of(machine)
    done: list[Program] = []
    failed: list[tuple[str, Simulation]] = []
    for clamping in clampings:
        stock = clamping.stock
        for index, level in enumerate(clamping.levels):
            progress(f"Program {len(done) + 1}: face {clamping.face}, {clamping.stage}")
            # Planned on the wood as the programs before really left it, beside clamps too.
            here = replace(clamping.at_depth(index), stock=stock)
            path = strips(here, level, None, machine=machine)
            if not path.feed.size:
                continue
            number = len(done) + len(failed) + 1
            name = _file_name(number, clamping, level)
            comments = (
                title_of(head),
                f"{clamping.stage}, lies on {clamping.lies_on}",
            )
            text = program_text(
                path,
                here,
                name=name,
                units=machine.program_units,
                cutter_diameter=machine.cutter_diameter,
                spindle_speed=machine.spindle_speed,
                comments=comments,
            )
            ran = simulate(text, here, limits, level=level)
            if not ran.passed:
                failed.append((name, ran))
                continue
            took = path_time(path, rapid=machine.rapid, acceleration=machine.acceleration)
            bound = None
            if not clamping.keep_out and clamping.overlap is None and clamping.step_back == 0.0:
                flat = machine.cutter_diameter - 2.0 * machine.corner_radius
                wide = min(machine.stepover, flat)
                bound = time_bound(stock, [level], clamping.plane, stepover=wide, feed=machine.feed, window=here.window)
            done.append(
                Program(
                    name=name,
                    face=clamping.face,
                    clamping=clamping.number,
                    stage=clamping.stage,
                    number=number,
                    level=level,
                    time=took.minutes,
                    time_bound=bound,
                    cut_length=ran.cut_length,
                    air_length=ran.air_length,
                    lifts=took.lifts,
                    edge_length=edge_length(
                        path,
                        stock,
                        clamping.plane + level,
                        diameter=machine.cutter_diameter,
                        spindle_speed=machine.spindle_speed,
                    ),
                    deepest=ran.deepest,
                    left_area=ran.left_area,
                    left_volume=ran.left_volume,
                    passed=ran.passed,
                    text=text,
                    path=path,
                )
            )
            stock = after(here, ran).stock
    return tuple(done), failed


def runs(clampings: Sequence[Clamping]) -> tuple[Run, ...]:
    """The depths of each face and stage; of two clampings of one face those of the first, which the other goes on with."""
    found: dict[tuple[str, str], Run] = {}
    for clamping in clampings:
        if clamping.levels:
            highest = float(np.nanmax(clamping.stock.top)) - clamping.plane
            found.setdefault(
                (clamping.face, clamping.stage), Run(clamping.face, clamping.stage, clamping.levels, highest)
            )
    return tuple(found.values())


def _failures(failed: list[tuple[str, Simulation]]) -> tuple[Finding, ...]:
    """That a program did not pass its own simulation: none of the job's programs is written then."""
    if not failed:
        return ()
    name, ran = failed[0]
    fault = ran.faults[0]
    finding = Finding(
        "machine/program-refused",
        "stop",
        f"{name} did not pass when it was run on the wood{f', line {fault.line}' if fault.line else ''}: {fault.message}"
        + (f" ({len(failed)} programs in all)" if len(failed) > 1 else ""),
        "No program is written. Move the clamps outwards, cut less at a time, or read more of the slab.",
        "the simulation of the program's own text",
    )
    return (finding,)


def machining(job: Job, slab: SlabPlan, progress: Progress) -> tuple[MachinePlan | None, tuple[Finding, ...]]:
    """The machine's part of the job.

    Args:
        job: with the shop's machine, bed and sled, and the clamps
        slab: the slab's plan
        progress: told each step

    Returns:
        The plan, or None where a stop keeps the slab off the machine; and what there is to say. Programs are handed on only
        if every one of them passed its simulation.
    """
    shop, units = job.shop, job.stated.job.units
    figured = bool(job.stated.slab and job.stated.slab.figured)
    found = [
        *travel_findings(slab, shop.machine, shop.bed, units),
        *feed_findings(shop.machine, units, figured=figured),
    ]
    if any(finding.severity == "stop" for finding in found):
        return None, tuple(found)
    progress("Clampings")
    clampings = settings(
        slab, shop.machine, shop.bed, job.stated.clamps, allowance=shop.allowance, figured=figured, units=units
    )
    found += setting_findings(clampings, shop.machine, shop.bed, units)
    found += holding_findings(clampings, units)
    found += stack_findings(clampings, slab, shop.bed, units)
    costs = error_costs(slab, shop.machine, shop.allowance)
    found += cost_findings(costs, units)
    sled = None
    programs: tuple[Program, ...] = ()
    if shop.machine.kind == "sled":
        sled, more = sled_plan(clampings, slab, shop.sled, shop.bed, units)
        found += more
    elif not any(finding.severity == "stop" for finding in found):
        programs, failed = _programs(job, clampings, progress)
        found += _failures(failed)
        programs = () if failed else programs
    edge = math.fsum(program.edge_length for program in programs)
    life = shop.machine.insert_life
    plan = MachinePlan(
        kind=shop.machine.kind,
        clampings=tuple(map(_figures, clampings)),
        programs=programs,
        time=math.fsum(program.time for program in programs),
        edge_length=edge,
        edges_used=edge / 1000.0 / life if life else None,
        feeds=feeds(shop.machine, figured=figured),
        error_costs=costs,
        sled=sled,
        settings=clampings,
    )
    return plan, tuple(found)
