"""Mass and centre of gravity of every state of the piece, and how sure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from slabwright.base.basing import BasePlan
from slabwright.carry.mass_parts import Stuff, base_steel, blank_stuff, bolts, frame_of, top_stuff
from slabwright.carry.mass_results import Centre, Masses, MassRange, State
from slabwright.carry.mass_solids import Body, slab_volume, together
from slabwright.findings import FROM_MEMORY, Finding
from slabwright.geometry.faces import Floats
from slabwright.job.loaded import Job
from slabwright.job.models import Moisture
from slabwright.quantities import format_mass
from slabwright.reference.weights import weights
from slabwright.reference.wood import species
from slabwright.slab.board import Board
from slabwright.slab.results import SlabPlan
from slabwright.top.results import TopPlan

SPREADS = 1.96
"""Of a normal spread, either way, for 19 times in 20."""
_USUAL_MOISTURE = 12.0
_UNKNOWN_DENSITY = 650.0
_FAR_OFF = 0.4
"""A weight that is off its table by more than this share is a slip: no plank of a species differs so much (common practice)."""
_ODD = 3.0
"""A weighed slab is odd where it differs from its table by more spreads than this."""
_PLAUSIBLE = (100.0, 1500.0)
"""Densities of wood, dry balsa to soaked tropical wood [kg/m3]: from memory."""


@dataclass(frozen=True)
class Wood:
    """Density of the wood as it is now.

    Attributes:
        density: [kg/m3]
        spread: standard deviation as a share, of what counts for all wood alike
        moisture: that it is reckoned with [%]
        weighed: whether the slab was weighed
    """

    density: float
    spread: float
    moisture: float
    weighed: bool


def mean_moisture(stated: Moisture | None) -> float | None:
    """Mean moisture of a slab from its readings, a third of the shell's and two thirds of the core's [%]; None without any.

    Moisture over the thickness is taken as a parabola with its top in the core, whose mean lies at two thirds.
    """
    if stated is None or not (stated.shell or stated.core):
        return None
    shell = math.fsum(stated.shell) / len(stated.shell) if stated.shell else None
    core = math.fsum(stated.core) / len(stated.core) if stated.core else None
    if shell is None or core is None:
        return core if shell is None else shell
    return shell / 3.0 + 2.0 * core / 3.0


def wood_of(job: Job, volume: float, volume_spread: float) -> Wood:
    """Density of the wood from the scales, or from its species and moisture.

    Args:
        job: states species, moisture and weight
        volume: of the rough slab [mm3]
        volume_spread: of the same, as a share
    """
    table, stated = weights(), job.stated.slab
    assert stated is not None
    moisture = mean_moisture(stated.moisture)
    known = moisture is not None
    moisture = _USUAL_MOISTURE if moisture is None else moisture
    if stated.weighed is not None and not far_off(job, volume):
        spread = math.hypot(table.scales.value, volume_spread)
        return Wood(stated.weighed / volume * 1e9, spread, moisture, True)
    found = species(stated.species).density(moisture)
    wetter = (table.moisture_read if known else table.moisture_unknown).value / (100.0 + moisture)
    differs = table.density.value if found is not None else table.density_unknown.value
    density = (
        found if found is not None else _UNKNOWN_DENSITY * (1.0 + moisture / 100.0) / (1.0 + _USUAL_MOISTURE / 100.0)
    )
    return Wood(density, math.hypot(differs, wetter, volume_spread), moisture, False)


def far_off(job: Job, volume: float) -> bool:
    """Whether the weight that is stated cannot be that of the slab, so that it is not used.

    Args:
        job: states species, moisture and weight
        volume: of the rough slab [mm3]
    """
    stated = job.stated.slab
    if stated is None or stated.weighed is None:
        return False
    density = stated.weighed / volume * 1e9
    usual = _usual_density(job)
    return abs(density / usual - 1.0) > _FAR_OFF or not _PLAUSIBLE[0] <= density <= _PLAUSIBLE[1]


def _usual_density(job: Job) -> float:
    """Of the species at the moisture that was read, or the usual one [kg/m3]."""
    assert job.stated.slab is not None
    moisture = mean_moisture(job.stated.slab.moisture)
    return (
        species(job.stated.slab.species).density(_USUAL_MOISTURE if moisture is None else moisture) or _UNKNOWN_DENSITY
    )


def rough_solid(slab: SlabPlan) -> Body:
    """Volume and centre of the rough slab, in its readings' frame [mm3, mm]."""
    survey = slab.survey
    return slab_volume(survey.all_a, survey.all_b, survey.outline_a, survey.outline_b)


def masses(
    job: Job,
    slab: SlabPlan | None,
    top: TopPlan | None,
    base: BasePlan | None,
    made: Board | None,
    fills: Sequence[Body] = (),
    solid: Body | None = None,
) -> tuple[Masses | None, tuple[Finding, ...]]:
    """Mass and centre of gravity of the rough slab, the blank, the top, the base, its welded parts and the finished piece.

    Args:
        job: as stated
        slab: its plan, or None before it is read
        top: its plan, or None
        base: its plan, or None
        made: the board as well as it is known
        fills: fill besides the slab's patches: volumes in the top's frame, x from its middle, z from its underside [mm3, mm]

        solid: the rough slab in its readings' frame, where it is known already; see `rough_solid`

    Returns:
        Every state that is known, or None where there is neither a slab nor a plan of one; and what there is to say.

    Raises:
        SlabwrightError: the species is not in the table.
    """
    stated = job.stated.slab
    if stated is None or (slab is None and stated.planned is None):
        return None, ()
    table = weights()
    placed = top.placement if top is not None else None
    if slab is None:
        assert stated.planned is not None
        rough, box = _planned(job)
        volume_spread = table.planned.value
    else:
        rough, box = _in_the_tops_frame(solid or rough_solid(slab), slab, top)
        volume_spread = table.readings.value
    wood = wood_of(job, rough.mass, volume_spread)
    resin = job.shop.epoxy.density * 1e-6
    scale = _Scale(wood, resin)
    thick = made.thickness if made is not None else 0.0
    states = [scale.state("rough slab", Stuff(wood=(rough,)), box, weighed=stated.weighed if wood.weighed else None)]
    # The board is known by a low and an even figure; the low one is kept 19 times in 20, which is 1.645 spreads.
    thickness_spread = (
        max(made.thickness_even - made.thickness_low, 0.0) / 1.645 / thick if made is not None and thick > 0.0 else 0.0
    )
    if slab is not None and thick > 0.0:
        states.append(scale.state("blank", blank_stuff(slab, placed, thick), _flat(box, thick), thickness_spread))
    if slab is not None and top is not None and made is not None and thick > 0.0:
        stuff = top_stuff(job, slab, top, thick, fills)
        low, high = float(top.outline.bounds[1]), float(top.outline.bounds[3])
        flat = ((-top.length / 2.0, low, 0.0), (top.length / 2.0, high, thick))
        states.append(scale.state("top", stuff, flat, thickness_spread))
        if base is not None:
            states += _with_base(job, top, base, stuff, flat, scale, thickness_spread)
    last = (
        states[-1]
        if states[-1].name == "finished piece"
        else next(state for name in ("top", "blank", "rough slab") for state in states if state.name == name)
    )
    found = Masses(
        mass=MassRange(last.mass, last.low, last.high),
        centre=last.centre,
        of=last.name,
        density=wood.density,
        moisture=wood.moisture,
        basis="weighed" if wood.weighed else "table",
        states=tuple(states),
    )
    return found, _findings(job, found, rough.mass)


Box = tuple[tuple[float, float, float], tuple[float, float, float]]


@dataclass(frozen=True)
class _Scale:
    """Weighs what a state is made of."""

    wood: Wood
    resin: float

    def state(
        self, name: str, stuff: Stuff, box: Box, thickness_spread: float = 0.0, weighed: float | None = None
    ) -> State:
        """The mass, its range and the centre of a state."""
        table = weights()
        bodies = [
            *(body.times(self.wood.density * 1e-9) for body in stuff.wood),
            *(body.times(self.resin) for body in stuff.fill),
            *stuff.steel,
        ]
        whole = together(bodies)
        wood = math.fsum(body.mass for body in stuff.wood) * self.wood.density * 1e-9
        fill = math.fsum(body.mass for body in stuff.fill) * self.resin
        steel = math.fsum(body.mass for body in stuff.steel)
        spread = math.hypot(
            wood * math.hypot(self.wood.spread, thickness_spread), fill * table.epoxy.value, steel * table.steel.value
        )
        if weighed is not None:
            spread = weighed * table.scales.value
        (x0, y0, z0), (x1, y1, z1) = box
        return State(
            name=name,
            mass=whole.mass,
            low=max(whole.mass - SPREADS * spread, 0.0),
            high=whole.mass + SPREADS * spread,
            centre=Centre(whole.x, whole.y, whole.z),
            length=x1 - x0,
            width=y1 - y0,
            height=z1 - z0,
            start=(x0, y0, z0),
        )


def _planned(job: Job) -> tuple[Body, Box]:
    """A slab that is not read: a block of the sizes as sold."""
    stated = job.stated.slab
    assert stated is not None and stated.planned is not None
    sizes = stated.planned
    block = Body(sizes.length * sizes.width * sizes.thickness, 0.0, 0.0, sizes.thickness / 2.0)
    return block, (
        (-sizes.length / 2.0, -sizes.width / 2.0, 0.0),
        (sizes.length / 2.0, sizes.width / 2.0, sizes.thickness),
    )


def _in_the_tops_frame(rough: Body, slab: SlabPlan, top: TopPlan | None) -> tuple[Body, Box]:
    """The rough slab from the middle of the top (before it is placed: of the slab), above its lowest wood, show face up."""
    survey = slab.survey
    placed = top.placement if top is not None else None
    frame = frame_of(slab, placed)
    x0, y0, x1, y1 = frame(shapely.union(survey.outline_a, survey.outline_b)).bounds
    heights = [face.z for face in (survey.all_a, survey.all_b)]
    low, high = float(min(np.nanmin(z) for z in heights)), float(max(np.nanmax(z) for z in heights))
    middle = shapely.get_coordinates(frame(shapely.Point(rough.x, rough.y)))[0]
    x, y = (float(each) for each in middle)
    up = (placed.face_up if placed is not None else slab.show_face) == "A"
    z = rough.z - low if up else high - rough.z
    return Body(rough.mass, x, y, z), ((x0, y0, 0.0), (x1, y1, high - low))


def _flat(box: Box, thickness: float) -> Box:
    (x0, y0, _), (x1, y1, _) = box
    return (x0, y0, 0.0), (x1, y1, thickness)


def _with_base(
    job: Job, top: TopPlan, base: BasePlan, wood: Stuff, flat: Box, scale: _Scale, thickness_spread: float
) -> list[State]:
    """The base, its welded parts, and the finished piece standing on the floor."""
    parts = base_steel(base)
    states = []
    boxes: list[Box] = []
    for name, bodies, corners in parts:
        places = np.array(corners)
        boxes.append((_place(places.min(axis=0)), _place(places.max(axis=0))))
        if len(parts) > 1:
            states.append(scale.state(name, Stuff(steel=bodies), boxes[-1]))
    steel = tuple(body for _, bodies, _ in parts for body in bodies)
    least, most = np.min([box[0] for box in boxes], axis=0), np.max([box[1] for box in boxes], axis=0)
    states.insert(0, scale.state("base", Stuff(steel=steel), (_place(least), _place(most))))
    above = base.height.even - (flat[1][2] - flat[0][2])
    raised = Stuff(
        wood=tuple(body.moved(dz=above) for body in wood.wood),
        fill=tuple(body.moved(dz=above) for body in wood.fill),
        steel=(*(body.moved(dz=above) for body in wood.steel), *steel, *bolts(base)),
    )
    whole = (
        _place(np.minimum(least, [flat[0][0], flat[0][1], 0.0])),
        _place(np.maximum(most, [flat[1][0], flat[1][1], base.height.even])),
    )
    states.append(scale.state("finished piece", raised, whole, thickness_spread))
    return states


def _place(corner: Floats) -> tuple[float, float, float]:
    x, y, z = corner.tolist()
    return x, y, z


def _findings(job: Job, found: Masses, volume: float) -> tuple[Finding, ...]:
    """That the slab should be weighed, or that the scales and the table disagree."""
    stated, units = job.stated.slab, job.stated.job.units
    assert stated is not None
    slab = found.states[0]
    if stated.weighed is None:
        half = 100.0 * (found.mass.high - found.mass.value) / found.mass.value
        return (
            Finding(
                "carry/not-weighed",
                "note",
                f"The slab is not weighed: the {found.of} comes to {format_mass(found.mass.value, units)}, "
                f"{half:.0f} % either way.",
                "Weigh it one end after the other on household scales, add both, and state [slab] weighed.",
                weights().density.source,
            ),
        )
    usual = _usual_density(job)
    read = f"the readings and the species {format_mass(usual * volume * 1e-9, units)}"
    remedy = "Check [slab] weighed with its unit, the species, and the moisture; then the readings."
    if far_off(job, volume):
        return (
            Finding(
                "carry/weighed-odd",
                "stop",
                f"[slab] weighed says {format_mass(stated.weighed, units)}, {read}: it cannot be, and is not used.",
                remedy,
                FROM_MEMORY,
            ),
        )
    if abs(found.density / usual - 1.0) <= _ODD * weights().density.value:
        return ()
    return (
        Finding(
            "carry/weighed-odd",
            "caution",
            f"The scales say {format_mass(slab.mass, units)}, {read}.",
            remedy,
            FROM_MEMORY,
        ),
    )
