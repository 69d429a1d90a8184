"""The plates as they were made: measured after welding and painting, entered where their pockets are, so that these follow."""

from __future__ import annotations

from pydantic import Field

from slabwright.job.plate_models import HoleAsMade, PlateAsMade
from slabwright.job.top_models import Insert, Pocket, Top
from slabwright.quantities import Units
from slabwright.top.results import TopPlan
from slabwright.web.models import Model
from slabwright.web.typed import typed

_SIZES = (
    ("thickness", "Thickness, with its paint"),
    ("length", "Along the grain, at its longest"),
    ("width", "Across the grain, at its widest"),
    ("corner_radius", "Round of its sharpest corner"),
    ("bow", "Gap under a straightedge laid over it"),
    ("diagonals_differ", "Difference of its two diagonals"),
    ("error", "Error of measuring"),
)
_HOLE = (
    ("along", "along, to the right"),
    ("across", "across, to the far edge"),
    ("length", "slot, end to end"),
    ("width", "its width"),
)


class MadeField(Model):
    """One size of a plate or of a hole."""

    key: str
    words: str
    value: str = Field(description="as it is typed; nothing where it was not measured")
    hint: str = Field(description="as planned, or what holds where nothing is stated")


class MadeHole(Model):
    """A hole or a slot, measured from the plate's middle."""

    insert: str
    fields: list[MadeField]


class MadePlate(Model):
    """A plate as it was made, as it is entered."""

    pocket: str
    number: int = Field(description="among top.plates_as_made, from 0")
    stated: bool
    way: str = Field(description="measured, or marked through")
    painted: bool
    fields: list[MadeField]
    holes: list[MadeHole]


def plates_of(top: Top, plan: TopPlan, units: Units) -> list[MadePlate]:
    """Every plate of a pocket, with what was measured of it.

    Args:
        top: as stated
        plan: the top as it was worked out
        units: of the job file
    """
    at = {placed.name: (placed.along, placed.across) for placed in plan.features}
    made = {plate.plate: (number, plate) for number, plate in enumerate(top.plates_as_made)}
    found = []
    for pocket in (one for one in top.features if isinstance(one, Pocket)):
        bolts = [one for one in top.features if isinstance(one, Insert) and one.plate == pocket.name]
        number, plate = made.get(pocket.name, (len(top.plates_as_made), None))
        thick = next((bolt.plate_thickness for bolt in bolts if bolt.plate_thickness is not None), None)
        hints = {
            "thickness": thick,
            "length": pocket.length,
            "width": pocket.width,
            "corner_radius": pocket.corner_radius,
            "bow": 0.0,
            "diagonals_differ": 0.0,
            "error": PlateAsMade.model_fields["error"].default,
        }
        found.append(
            MadePlate(
                pocket=pocket.name,
                number=number,
                stated=plate is not None,
                way=plate.way if plate is not None else "measured",
                painted=plate.painted if plate is not None else True,
                fields=[_field(key, words, plate, hints[key], units) for key, words in _SIZES],
                holes=[_hole(bolt, plate, at.get(pocket.name), at.get(bolt.name), units) for bolt in bolts],
            )
        )
    return found


_Place = tuple[float | None, float | None]


def _hole(bolt: Insert, plate: PlateAsMade | None, middle: _Place | None, at: _Place | None, units: Units) -> MadeHole:
    hole = next((one for one in plate.holes if one.insert == bolt.name), None) if plate is not None else None
    hints: dict[str, float | None] = {"along": None, "across": None, "length": None, "width": None}
    if middle is not None and at is not None and None not in (*middle, *at):
        hints |= {key: at[k] - middle[k] for k, key in enumerate(("along", "across"))}  # type: ignore[operator]
    return MadeHole(insert=bolt.name, fields=[_field(key, words, hole, hints[key], units) for key, words in _HOLE])


def _field(
    key: str, words: str, stated: PlateAsMade | HoleAsMade | None, hint: float | None, units: Units
) -> MadeField:
    value = getattr(stated, key) if stated is not None and key in stated.model_fields_set else None
    return MadeField(
        key=key,
        words=words,
        value="" if value is None else str(typed(value, units)),
        hint="" if hint is None else str(typed(round(hint, 1) if units == "metric" else hint, units)),
    )
