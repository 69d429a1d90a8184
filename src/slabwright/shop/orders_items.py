"""What the plan takes that is bought: each thing with its amount, from the parts of the plan."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from slabwright.base.basing import BasePlan
from slabwright.base.foot_threads import BUSH, foot_threads
from slabwright.base.sections import section
from slabwright.carry.carrying import CarryPlan
from slabwright.finish.coating_results import SystemPlan
from slabwright.finish.finishing import FinishPlan
from slabwright.job.loaded import Job
from slabwright.job.money_models import Kind
from slabwright.job.selling import Measured
from slabwright.machine.results import MachinePlan
from slabwright.quantities import Units, format_length
from slabwright.reference.money import money_table
from slabwright.shop.can_words import can_words
from slabwright.slab.results import SlabPlan
from slabwright.top.results import TopPlan

BEFORE: dict[Kind, str] = {
    "slab": "the slab is read",
    "steel": "steel is sawn",
    "filler": "the first tack",
    "feet": "assembly",
    "fasteners": "inserts are set",
    "epoxy": "the first pour",
    "coatings": "the first coat",
    "cutters": "the first pass",
    "cables": "assembly",
    "consumables": "sanding",
    "other": "assembly",
}
"""The work that each kind of thing must be there for."""


@dataclass(frozen=True)
class OrderParts:
    """The parts of the plan that things are bought for; None where there is none yet."""

    slab: SlabPlan | None = None
    top: TopPlan | None = None
    base: BasePlan | None = None
    machine: MachinePlan | None = None
    finish: FinishPlan | None = None
    carry: CarryPlan | None = None
    systems: tuple[SystemPlan, ...] = ()
    """Coats where there is no `finish` yet."""


@dataclass(frozen=True)
class Item:
    """A thing that the plan takes.

    Attributes:
        kind: what kind of thing
        what: as the order names it
        for_what: what it is for
        unit: in which it is counted
        wanted: that the plan takes
        whole: whether it comes in whole pieces
        metres: of steel that one is, for a price by the metre
        kilograms: that one weighs, for a price by weight
        cubic_metres: that one has, for a price by volume
        price: of all of it, where the plan knows it
        there_for: kind of thing whose day it must be there for, where that is another's than its own
    """

    kind: Kind
    what: str
    for_what: str
    unit: str
    wanted: float
    whole: bool = True
    metres: float | None = None
    kilograms: float | None = None
    cubic_metres: float | None = None
    price: float | None = None
    there_for: Kind | None = None

    @property
    def measured(self) -> Measured:
        """What of it a price may go by."""
        return Measured(self.unit, self.whole, self.metres, self.kilograms, self.cubic_metres)


def items(job: Job, parts: OrderParts) -> tuple[Item, ...]:
    """Everything that the plan takes and a shop buys, in the order of the work.

    Args:
        job: what is stated
        parts: of the plan
    """
    units = job.stated.job.units
    found = [*_slab(job), *_cutters(job, parts.machine)]
    if parts.finish is not None:
        found += _epoxy(job, parts.finish)
    if parts.base is not None:
        found += _steel(parts.base, units)
    found += _fasteners(job, parts, units)
    found += _coatings(parts.finish.systems if parts.finish is not None else parts.systems, units)
    if parts.carry is not None:
        found += _cables(parts.carry, units)
    return tuple(found)


def _slab(job: Job) -> Iterator[Item]:
    slab = job.stated.slab
    if slab is None or slab.planned is None or job.readings is not None:
        return
    planned, units = slab.planned, job.stated.job.units
    sizes = " x ".join(format_length(each, units) for each in (planned.length, planned.width, planned.thickness))
    volume = planned.length * planned.width * planned.thickness / 1e9
    quote = job.stated.quote
    price = quote.slab_price if quote is not None else None
    yield Item("slab", f"slab, {slab.species}, {sizes}", "the top", "piece", 1.0, cubic_metres=volume, price=price)


def _cutters(job: Job, machine: MachinePlan | None) -> Iterator[Item]:
    if machine is None or not machine.edges_used:
        return
    each = math.ceil(machine.edges_used / money_table().insert_edges - 1e-9)
    yield Item(
        "cutters", "insert of the surfacing cutter", "flattening", "piece", float(each * job.shop.machine.flutes)
    )


def _epoxy(job: Job, finish: FinishPlan) -> Iterator[Item]:
    resin = finish.resin
    for sort, sheet in (("casting", job.shop.epoxy), ("thin", job.shop.thin_epoxy)):
        batches = [batch for batch in resin.batches if batch.sort == sort]
        for part in ("resin", "hardener"):
            kilograms = sum(getattr(batch, part) for batch in batches) / 1000.0
            if kilograms > 0.0:
                yield Item("epoxy", f"{sheet.name}, {part}", "filling and mending", "kg", kilograms, whole=False)
    if resin.tint > 0.0:
        yield Item("epoxy", f"colour paste, {job.shop.epoxy.tint}", "filling", "kg", resin.tint, whole=False)


def _steel(base: BasePlan, units: Units) -> Iterator[Item]:
    if base.cut_list is not None:
        for bought in base.cut_list.bought:
            what = f"{bought.section}, {format_length(bought.length, units)}"
            weighs = section(bought.section, base.drawn.units).mass_per_metre * bought.length / 1000.0
            yield Item(
                "steel",
                what,
                "plates" if bought.section.startswith("flat") else "base",
                "length",
                float(bought.count),
                metres=bought.length / 1000.0,
                kilograms=weighs,
                price=bought.price,
            )
    if base.welds is not None and base.welds.filler > 0.0:
        yield Item("filler", "welding filler", "base", "kg", base.welds.filler, whole=False)
    drawn = base.drawn
    if drawn.feet:
        threads = foot_threads(drawn)
        thread = threads[0].thread if threads else format_length(drawn.stud or 0.0, units)
        foot = f"levelling foot, thread {thread}" if drawn.stud is not None else "glide for a leg"
        if drawn.stud is not None or drawn.foot_length > 0.0:
            yield Item("feet", foot, "base", "piece", float(len(drawn.feet)))
        bushes = Counter((each.thread, each.hole, each.thickness) for each in threads if each.into.startswith(BUSH))
        for (name, outside, long), count in bushes.items():
            # A bush of a metric thread is sold by its millimetres, in an inch shop too.
            sold: Units = "metric" if name.startswith("M") else units
            what = (
                f"weld-in bush, thread {name}, {format_length(outside, sold)} outside, {format_length(long, sold)} long"
            )
            yield Item("feet", what, "base, under the feet", "piece", float(count), there_for="steel")


def _fasteners(job: Job, parts: OrderParts, units: Units) -> Iterator[Item]:
    top = parts.top
    if top is not None and top.fastenings:
        inserts = Counter(
            (each.thread_name, round(each.hole_diameter, 2), round(each.hole_depth, 2)) for each in top.fastenings
        )
        for (thread, hole, depth), count in sorted(inserts.items()):
            what = f"threaded insert {thread}, hole {format_length(hole, units)}, at most {format_length(depth, units)} deep"
            yield Item("fasteners", what, "top", "piece", float(count))
        bolts = Counter((each.thread_name, each.bolt_length) for each in top.fastenings)
        for (thread, length), count in sorted(bolts.items(), key=lambda each: (each[0][0], each[0][1] or 0.0)):
            long = f" x {format_length(length, units)}" if length is not None else ", length not known yet"
            yield Item("fasteners", f"bolt {thread}{long}", "base to top", "piece", float(count))
        washers = Counter(each.thread_name for each in top.fastenings)
        for thread, count in sorted(washers.items()):
            yield Item("fasteners", f"washer {thread}", "base to top", "piece", float(count))
    elif parts.base is not None and parts.base.drawn.bolts:
        threads = Counter(bolt.thread for bolt in parts.base.drawn.bolts)
        for size, count in sorted(threads.items()):
            told = format_length(size, units)
            yield Item("fasteners", f"threaded insert {told}", "top", "piece", float(count))
            yield Item("fasteners", f"bolt {told}, length not known yet", "base to top", "piece", float(count))
            yield Item("fasteners", f"washer {told}", "base to top", "piece", float(count))


def _coatings(systems: Sequence[SystemPlan], units: Units) -> Iterator[Item]:
    for system in systems:
        canned = {can.coating for can in system.cans}
        for can in system.cans:
            what = f"{can.coating}, {can_words(can.size, units)}"
            yield Item("coatings", what, system.on, "can", float(can.count), price=can.price)
        litres: dict[str, float] = {}
        for coat in system.coats:
            if coat.coating not in canned:
                litres[coat.coating] = litres.get(coat.coating, 0.0) + coat.amount
        for name, amount in litres.items():
            yield Item("coatings", name, system.on, "l", amount, whole=False)


def _cables(carry: CarryPlan, units: Units) -> Iterator[Item]:
    for cable in carry.cables:
        length = cable.length if cable.spare is None else cable.length + cable.spare
        what = f"cable {cable.name}, {'' if cable.spare is not None else 'at least '}{format_length(length, units)}"
        yield Item("cables", what, f"{cable.outlet}, listed assembly", "piece", 1.0, metres=length / 1000.0)
        if cable.ties:
            yield Item("cables", f"clip or tie for cable {cable.name}", "cable", "piece", float(len(cable.ties)))
        if cable.protect:
            what = f"grommet or edging for cable {cable.name}"
            yield Item("cables", what, "edges kept off the cable", "piece", float(len(cable.protect)))
