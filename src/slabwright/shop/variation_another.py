"""Another piece like this one: jigs, steel and hours are kept, the slab is a new one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.findings import SlabwrightError
from slabwright.job.loaded import Job
from slabwright.job.write import with_values
from slabwright.quantities import format_length
from slabwright.shop.planning import planning_slab

_OF_THE_SLAB = (
    "survey",
    "survey_a",
    "survey_b",
    "survey_units",
    "callipers",
    "marks",
    "outline",
    "outline_a",
    "outline_b",
    "outline_units",
    "cut_from",
    "cut_to",
    "moisture",
    "lay",
    "defects",
    "weighed",
)
_MADE = ("mends", "checks", "rereadings", "as_made", "received", "log", "operations")
_DATES = {
    "job": ("date", "promised"),
    "finish": ("start", "steel_start"),
    "brief": ("wanted", "template"),
    "quote": ("date", "number", "agreed", "agreed_on", "invoiced"),
}
_AS_MADE = {"base": ("leg_as_made", "plate_as_made"), "top": ("datums", "plates_as_made"), "fill": ("choose",)}
_JIGS = {
    "pocket": "template for the pockets of the plates",
    "insert": "drilling jig for the inserts",
    "outlet": "template for the outlets",
    "channel": "template for the cable channels",
    "key": "template for the keys",
    "bar": "template for the let-in steel",
}


@dataclass(frozen=True)
class Another:
    """A new job from one that was made."""

    text: str = figure("", "of the new job file")
    kept: tuple[str, ...] = figure("", "what is kept: jigs, steel, features, coats, hours")
    swapped: tuple[str, ...] = figure("", "what belongs to the old slab and is left out")
    slab: str = figure("", "the rough slab to look for")


def another_like_this(
    job: Job, text: str, title: str, *, species: str | None = None, values: Mapping[str, object] | None = None
) -> Another:
    """A job file for another piece like this one.

    What was read, cut, found and made of the old slab is left out; sizes, base, features, coats, delivery and the shop's log of
    hours stay. The leg's as-made length stays out too: the new top has a thickness of its own.

    Args:
        job: the job that was made
        text: its job file, whose remarks are kept
        title: of the new piece
        species: of the new slab; None: the same
        values: further keys of the new job, as for `set_values`

    Raises:
        SlabwrightError: it has no slab, or a key cannot be set.
    """
    stated = job.stated
    if stated.slab is None:
        raise SlabwrightError("slab: there is none in this job; another like it is a new job: slabwright new")
    rough, _ = planning_slab(stated)
    units = stated.job.units
    changed: dict[str, object] = {}
    swapped = []
    dumped = stated.slab.model_dump(exclude_unset=True)
    for key in _OF_THE_SLAB:
        if key in dumped:
            changed[f"slab.{key}"] = None
            swapped.append(f"slab.{key}")
    for key in _MADE:
        if key in stated.model_fields_set and getattr(stated, key, None):
            changed[key] = None
            swapped.append(key)
    of_the_old = [*_DATES.items(), *_AS_MADE.items(), ("quote", ("slab_price",))]
    for table, keys in of_the_old:
        there = getattr(stated, table)
        for key in keys:
            if there is not None and key in there.model_fields_set:
                changed[f"{table}.{key}"] = None
                swapped.append(f"{table}.{key}")
    changed["job.title"] = title
    changed["job.revision"] = "1"
    if species is not None:
        changed["slab.species"] = species
    if stated.slab.planned is None:
        for name, size in (("length", rough.length), ("width", rough.width), ("thickness", rough.thickness)):
            changed[f"slab.planned.{name}"] = f"{size:g} mm" if units == "inch" else size
    jigs = _jigs(job)
    if jigs:
        changed["quote.kept_jigs"] = jigs
    changed |= values or {}
    kept = [*jigs]
    if stated.piece.base is not None or stated.base is not None:
        kept.append("the base: its cut list, weld plan and drill plan")
    if stated.top is not None and stated.top.features:
        kept.append(f"{len(stated.top.features)} features of the top")
    kept.append("hours: the shop's log goes on from this piece")
    sizes = " x ".join(format_length(size, units) for size in (rough.length, rough.width, rough.thickness))
    return Another(
        text=with_values(text, changed, job.file),
        kept=tuple(kept),
        swapped=tuple(swapped),
        slab=f"{species or stated.slab.species}, {sizes}",
    )


def _jigs(job: Job) -> list[str]:
    """Jigs and templates that the piece was made with."""
    quote, top = job.stated.quote, job.stated.top
    found = list(quote.kept_jigs) if quote is not None else []
    kinds = {feature.kind for feature in top.features} if top is not None else set()
    found += [words for kind, words in _JIGS.items() if kind in kinds]
    if job.stated.piece.base is not None or job.stated.base is not None:
        found.append("welding jig of the leg frames")
    return list(dict.fromkeys(found))
