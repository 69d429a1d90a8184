"""From the plans of the parts to what they weigh, who lifts them, the way in, and how they are put together."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.base.basing import BasePlan
from slabwright.carry.assembly import assembly
from slabwright.carry.assembly_results import Assembly, PartMasses
from slabwright.carry.cables import cable_routes
from slabwright.carry.cables_results import CableRoute
from slabwright.carry.lifts import lifts
from slabwright.carry.lifts_results import Lift
from slabwright.carry.mass import masses
from slabwright.carry.mass_results import Masses
from slabwright.carry.mass_solids import Body
from slabwright.carry.route import way_in
from slabwright.carry.route_pieces import table_pieces
from slabwright.carry.route_results import WayIn
from slabwright.findings import Finding
from slabwright.job.hands_models import hands_of
from slabwright.job.loaded import Job
from slabwright.slab.board import Board
from slabwright.slab.results import SlabPlan
from slabwright.top.results import TopPlan


@dataclass(frozen=True)
class CarryPlan(Masses):
    """Weight, hands, the way in, assembly and cables."""

    lifts: tuple[Lift, ...] = figure("", "each lift and carry: weight of each end, people, aid", default=())
    way_in: WayIn | None = figure("", "the delivery route; empty where no step is stated", default=None)
    assembly: Assembly | None = figure("", "how it is put together; empty without a base", default=None)
    cables: tuple[CableRoute, ...] = figure("", "cables from their outlets to their plugs", default=())


def carry_plan(
    job: Job,
    slab: SlabPlan | None,
    made: Board | None,
    top: TopPlan | None,
    base: BasePlan | None,
    solid: Body | None = None,
) -> tuple[CarryPlan | None, tuple[Finding, ...]]:
    """How the piece and its parts are lifted, carried in and put together.

    Args:
        job: what is stated
        slab: the slab's plan; None before it is read
        made: the board as well as it is known
        top: the placed top; None where it is not placed
        base: the base; None where it is not planned
        solid: the rough slab, where it is known already; see `rough_solid`

    Returns:
        The plan, or None where nothing is known to weigh; and what there is to say.

    Raises:
        SlabwrightError: a cable, a passage or a lift that is stated cannot be used.
    """
    weighed, found = masses(job, slab, top, base, made, solid=solid)
    if weighed is None:
        return None, found
    delivery = job.stated.delivery
    level = delivery is not None and not any(step.kind == "stairs" for step in delivery.steps)
    lifted, more = lifts(job, weighed, steps=0 if level else None)
    found = (*found, *more)
    way, put_together = None, None
    cables: tuple[CableRoute, ...] = ()
    units = job.stated.job.units
    if top is not None:
        cables, more = cable_routes(job, top, base)
        found = (*found, *more)
    if top is not None and base is not None:
        if delivery is not None:
            way, more = way_in(delivery, table_pieces(base), units)
            found = (*found, *more)
        weights = {state.name: state.mass for state in weighed.states}
        hands = hands_of(job.shop.hands, job.stated.hands)
        put_together, more = assembly(
            job,
            top,
            base,
            PartMasses(weights.get("top", base.top_mass), weights.get("base", base.mass)),
            hands.people,
            lifted,
        )
        found = (*found, *more)
    held = {field.name: getattr(weighed, field.name) for field in dataclasses.fields(weighed)}
    return CarryPlan(**held, lifts=lifted, way_in=way, assembly=put_together, cables=cables), found
