"""A small invented job with a finish, and areas to go with it."""

from __future__ import annotations

from typing import Any

from slabwright.finish.areas import Areas, Surface
from slabwright.job.loaded import Job
from slabwright.job.models import JobFile, ShopFile

M2 = 1e6


def finish_job(
    finish: dict[str, Any] | None = None,
    coatings: list[dict[str, Any]] | None = None,
    *,
    units: str = "metric",
    piece: dict[str, Any] | None = None,
    top: dict[str, Any] | None = None,
    date: str = "",
) -> Job:
    """A job that states a finish; the shop states some coatings, or none."""
    stated: dict[str, Any] = {"job": {"title": "Invented", "units": units, "date": date}, "piece": piece or {}}
    if finish is not None:
        stated["finish"] = finish
    if top is not None:
        stated["top"] = top
    context = {"units": units}
    return Job(
        stated=JobFile.model_validate(stated, context=context),
        shop=ShopFile.model_validate({"coatings": coatings or []}, context=context),
    )


def areas(wood: float = 4.0, end: float = 0.1, steel: float = 1.0) -> Areas:
    """Areas of so many square metres."""
    surfaces = (
        Surface("show face", "wood", (wood - end) * M2 / 2, False, 0.0),
        Surface("underside", "wood", (wood - end) * M2 / 2, False, 0.0),
        Surface("ends", "wood", end * M2, True, 1800.0),
        Surface("steel base", "steel", steel * M2, False, 0.0),
    )
    kept = tuple(surface for surface in surfaces if surface.area > 0.0)
    return Areas(wood * M2, (wood - end) * M2, end * M2, steel * M2, 0.0, kept, ())


def paint(**changes: Any) -> dict[str, Any]:
    """An invented two-part paint as a shop file states it."""
    return {
        "name": "grey paint",
        "mix": [4, 1],
        "pot_life": 120,
        "coverage": 8.0,
        "without_sanding": {"least": 8, "greatest": 12},
        "after_scuffing": {"least": 16},
        "cure": 120,
        "more": {"transfer_loss": 0.2, "square_metres_per_hour": 4, "time_to_sand": 20},
        **changes,
    }
