"""Invented jobs to price, without the stages of the slab."""

from __future__ import annotations

from typing import Any

from slabwright.job.loaded import Job
from slabwright.job.models import JobFile, ShopFile

SUPPLIERS = [
    {
        "name": "Steel yard",
        "what": ["steel", "filler"],
        "lead_days": 6,
        "sells": [{"what": "steel", "price": 2.4, "per": "kg"}, {"what": "welding filler", "price": 14, "per": "kg"}],
    },
    {"name": "Fixings", "what": ["fasteners", "feet"], "lead_days": 3, "sells": [{"what": "fasteners", "price": 0.8}]},
]


def priced_job(head: dict[str, Any] | None = None, shop: dict[str, Any] | None = None, **more: Any) -> Job:
    """A table with a planning slab's six answers; `shop` and the rest replace tables."""
    told = {"title": "Reading table", "date": "2026-11-25"} | (head or {})
    stated = {
        "job": told,
        "piece": {
            "length": "2200 mm",
            "width": "900 mm",
            "height": "740 mm",
            "thickness": "45 mm",
            "base": "U legs",
            "finish": "hard-wax oil",
        },
        "slab": {"species": "ash, white"},
    } | more
    context = {"units": told.get("units", "metric")}
    tables = {
        "units": context["units"],
        "prices": {"hour": 55, "machine_hour": 20, "wood_per_cubic_metre": 2400},
        "suppliers": SUPPLIERS,
    } | (shop or {})
    return Job(JobFile.model_validate(stated, context=context), ShopFile.model_validate(tables, context=context))
