"""Changes of the base that make another: as keys of the job file, whether the job or the top's layout settles the plates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from slabwright.base.base_results import BaseStructure
from slabwright.base.base_sizes import sizes_of
from slabwright.base.basing import BasePlan
from slabwright.base.from_top import plate_pockets, with_layout
from slabwright.base.kinds import Drawn
from slabwright.base.mends import trials
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base, BaseKind
from slabwright.job.loaded import Job
from slabwright.job.top_models import Insert
from slabwright.plan import Plan
from slabwright.quantities import parse_length
from slabwright.top.results import TopPlan
from slabwright.web.typed import typed

_ONE_ROW = 1.0
_SAME = 0.01


@dataclass(frozen=True)
class Change:
    """What another base has otherwise; None: as it is.

    Attributes:
        tube: of the legs
        stretcher: between the leg frames; nothing: none
        plate_width: along the top [mm]
        plate_thickness: [mm]
        bolt_spacing: between the outer rows of a plate, along the top [mm]
    """

    tube: str | None = None
    stretcher: str | None = None
    plate_width: float | None = None
    plate_thickness: float | None = None
    bolt_spacing: float | None = None


def spacing_of(drawn: Drawn) -> float:
    """Between the outer rows of bolts, along the top [mm]."""
    return 2.0 * max((abs(bolt.x - plate.x) for plate in drawn.plates for bolt in plate.bolts), default=0.0)


def upright_of(drawn: Drawn) -> str:
    """The section of the legs; nothing in a free frame."""
    return next((one.section.name for one in drawn.members if one.name.endswith("upright")), "")


def stretcher_of(drawn: Drawn) -> str:
    """The section of the stretchers; nothing where there is none."""
    return next((one.section.name for one in drawn.members if one.name.endswith("stretcher")), "")


def as_it_is(base: BasePlan | BaseStructure) -> Change:
    """What a base has."""
    plate = base.drawn.plates[0] if base.drawn.plates else None
    return Change(
        tube=upright_of(base.drawn),
        stretcher=stretcher_of(base.drawn),
        plate_width=plate.width if plate else None,
        plate_thickness=plate.thickness if plate else None,
        bolt_spacing=spacing_of(base.drawn) if plate else None,
    )


def change_of(job: Job, tube: str, stretcher: str, lengths: dict[str, str]) -> Change:
    """A change as it was typed; what is left empty stays.

    Raises:
        SlabwrightError: a length is none.
    """
    plain = "in" if job.stated.job.units == "inch" else "mm"
    sizes: dict[str, float] = {}
    for name, said in lengths.items():
        if said.strip():
            try:
                sizes[name] = parse_length(float(said) if _is_number(said) else said, plain)
            except ValueError as error:
                raise SlabwrightError(f"{name.replace('_', ' ')}: {error}") from None
            if sizes[name] <= 0.0:
                raise SlabwrightError(f"{name.replace('_', ' ')}: must be more than 0")
    wanted = None if not stretcher.strip() else ("" if stretcher.strip().lower() == "none" else stretcher.strip())
    return Change(tube=tube.strip() or None, stretcher=wanted, **sizes)


def _is_number(said: str) -> bool:
    try:
        float(said)
    except ValueError:
        return False
    return "n" not in said.lower()


def values_of(plan: Plan, change: Change, now: Change | None = None) -> dict[str, Any]:
    """A change as an edit takes it; what is as it is already is left out.

    Args:
        plan: with the base and its top
        change: what is wanted otherwise
        now: what there is without it; as planned if left out

    Raises:
        SlabwrightError: the bolts stand in one row, so that there is nothing to set apart.
    """
    assert plan.base is not None and plan.top is not None
    now, units = now or as_it_is(plan.base), plan.job.stated.job.units
    base, top = plan.job.stated.base or Base(), plan.top
    pockets = plate_pockets(top.layout)
    found: dict[str, Any] = {}
    if change.tube is not None and change.tube != now.tube:
        found["base.tube"] = change.tube
    if change.stretcher is not None and change.stretcher != now.stretcher:
        found["base.stretcher"] = change.stretcher or None
    numbers = {one.name: number for number, one in enumerate(top.layout.top.features)}
    if _differs(change.plate_width, now.plate_width):
        wide = typed(change.plate_width or 0.0, units)
        found |= {f"top.features[{numbers[name]}].length": wide for name in pockets}
        if not pockets or base.plate.width is not None:
            found["base.plate.width"] = wide
    if _differs(change.plate_thickness, now.plate_thickness):
        thick = typed(change.plate_thickness or 0.0, units)
        through = [one for one in _through(top) if one.plate_thickness is not None]
        found |= {f"top.features[{numbers[one.name]}].plate_thickness": thick for one in through}
        if not through or base.plate.thickness is not None:
            found["base.plate.thickness"] = thick
    if change.bolt_spacing is not None and _differs(change.bolt_spacing, now.bolt_spacing):
        if (now.bolt_spacing or 0.0) < _ONE_ROW and pockets:
            raise SlabwrightError(
                "The bolts of each plate stand in one row: add a second row on the page of the top first."
            )
        if pockets:
            found |= _set_apart(plan, change.bolt_spacing / (now.bolt_spacing or 1.0), numbers)
        else:
            found["base.plate.bolt_spacing"] = typed(change.bolt_spacing, units)
            if base.plate.bolt_rows == 1:
                found["base.plate.bolt_rows"] = 2
    return found


def _differs(wanted: float | None, now: float | None) -> bool:
    return wanted is not None and (now is None or abs(wanted - now) > _SAME)


def _through(top: TopPlan) -> list[Insert]:
    """The inserts whose bolts go through a plate of the base."""
    pockets = plate_pockets(top.layout)
    return [one for one in top.layout.top.features if isinstance(one, Insert) and one.plate in pockets]


def _set_apart(plan: Plan, times: float, numbers: dict[str, int]) -> dict[str, Any]:
    """The bolts as much farther from the middles of their plates, as each is dimensioned."""
    assert plan.top is not None
    top, units = plan.top, plan.job.stated.job.units
    moved: dict[str, float] = {}
    for one in _through(top):
        plate, bolt = top.layout.named(one.plate or ""), top.layout.named(one.name)
        moved[one.name] = (times - 1.0) * ((bolt.along or 0.0) - (plate.along or 0.0))
    found = {}
    for one in _through(top):
        shift = moved[one.name] - moved.get(one.along_from, 0.0)
        if abs(shift) > 1e-9:
            way = -1.0 if one.along_from == "right end" else 1.0
            found[f"top.features[{numbers[one.name]}].along"] = typed(one.along + way * shift, units)
    return found


def mending(plan: Plan) -> dict[str, Change]:
    """The change that each mend of the base is, by its words; those that want more bolts are left out: they are set by hand."""
    base, top = plan.base, plan.top
    piece, stated = plan.job.stated.piece, plan.job.stated.base
    if base is None or top is None or base.stack is None or piece.base is None or piece.height is None:
        return {}
    if stated is not None and stated.nodes:
        return {}
    units, carried = plan.job.stated.job.units, base.structure.top
    kind: BaseKind = piece.base
    sizes = sizes_of(
        with_layout(stated or Base(), top.layout),
        carried.length,
        carried.width,
        piece.height,
        base.stack.leg,
        units,
        kind,
    )
    found = {}
    for trial in trials(kind, sizes, base.drawn.bolts, units):
        if len(trial.drawn.bolts) != len(base.drawn.bolts):
            continue
        plate = trial.drawn.plates[0]
        found[trial.change] = Change(
            tube=upright_of(trial.drawn),
            stretcher=stretcher_of(trial.drawn),
            plate_width=plate.width,
            plate_thickness=plate.thickness,
            bolt_spacing=spacing_of(trial.drawn),
        )
    return found
