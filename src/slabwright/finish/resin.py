"""The epoxy of the whole top: what is filled, in which pours, mixed in which batches, and how long it waits."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

from slabwright.findings import Finding
from slabwright.finish.mending import FILLED, thin_volume
from slabwright.finish.mending_results import Mended, Mending
from slabwright.finish.pours import (
    batch_sizes,
    epoxies,
    greatest_batch,
    layer_count,
    layers,
    least_batch,
    mix,
    shared_out,
)
from slabwright.finish.resin_findings import resin_findings
from slabwright.finish.resin_results import Batch, Portion, Pour, Rerun, Resin, ResinPlace, Sort, Up
from slabwright.geometry.faces import FaceName
from slabwright.job.epoxy_models import Epoxy
from slabwright.job.loaded import Job
from slabwright.reference.mending import mending_figures
from slabwright.slab.patch import Patch
from slabwright.slab.results import SlabPlan


def resin_plan(job: Job, slab: SlabPlan, mending: Mending) -> tuple[Resin, tuple[Finding, ...]]:
    """Epoxy of the filled dips and of what is mended with it.

        poured = (volume + area * overfill) / (1 - leak loss)
        mass = poured * density * (1 + waste)

    A place is poured in layers of equal depth, none deeper than the sheet's greatest; all places that are due are poured in
    one go, in batches that can be mixed and poured within their working time. A dip above a deep defect waits until that
    is full. Thin epoxy comes first. What is seen on the underside alone is poured when the slab is turned over.

    Args:
        job: what is stated; the shop's `[epoxy]` and `[thin_epoxy]`
        slab: the slab's plan, with its filled dips
        mending: what is mended, and how

    Returns:
        The epoxy, empty where nothing is filled, and what there is to say.
    """
    casting, thin = epoxies(job)
    found = sorted(
        [*_thin_places(mending, thin), *_casting_places(slab, mending, casting)],
        key=lambda one: (one[0].sort != "thin", -one[0].depth, one[0].name),
    )
    pours: list[Pour] = []
    batches: list[Batch] = []
    clock, hard = 0.0, 0.0
    sheets: tuple[tuple[Sort, Epoxy], ...] = (("thin", thin), ("casting", casting))
    sides: tuple[Up, Up] = ("show", "underside")
    for up, (sort, epoxy) in itertools.product(sides, sheets):
        own = [one for one in found if one[0].sort == sort and one[0].up == up]
        most = greatest_batch(epoxy)
        if not own or most is None:
            continue
        last = max(place.first + place.pours - 1 for place, _ in own)
        for number in range(1, last + 1):
            due = [
                (place, volumes[number - place.first])
                for place, volumes in own
                if place.first <= number < place.first + place.pours
            ]
            made = _poured(due, epoxy, sort, len(pours) + 1, len(batches), clock, most)
            minutes = sum(batch.minutes for batch in made)
            pours.append(
                Pour(
                    number=len(pours) + 1,
                    sort=sort,
                    up=up,
                    start=clock,
                    minutes=minutes,
                    places=tuple(place.name for place, _ in due),
                    depth=max(place.layer for place, _ in due),
                    mass=sum(batch.grams for batch in made) / 1000.0,
                )
            )
            batches += made
            end = clock + minutes / 60.0
            hard = max(hard, end + epoxy.hours_before_machining * epoxy.slower)
            clock = end + epoxy.hours_between_pours * epoxy.slower
    places = tuple(place for place, _ in found)
    largest = greatest_batch(casting)
    resin = Resin(
        volume=sum(place.volume for place in places),
        poured=sum(place.poured for place in places),
        lost=sum(place.poured * place.loss for place in places),
        mass=sum(batch.grams for batch in batches) / 1000.0,
        resin=sum(batch.resin for batch in batches) / 1000.0,
        hardener=sum(batch.hardener for batch in batches) / 1000.0,
        tint=sum(batch.tint for batch in batches) / 1000.0,
        places=places,
        pours=tuple(pours),
        batches=tuple(batches),
        largest_batch=None if largest is None else largest / 1000.0,
        between=casting.hours_between_pours * casting.slower,
        before_machining=casting.hours_before_machining * casting.slower,
        wait=hard,
        rerun=_rerun(slab, places),
    )
    return resin, resin_findings(job, resin)


_Layered = tuple[ResinPlace, tuple[float, ...]]
"""A place with the volume that stays in it of each of its layers, from the bottom up [mm3]."""


def _place(
    name: str,
    what: str,
    sort: Sort,
    epoxy: Epoxy,
    *,
    volume: float,
    area: float,
    depth: float,
    overfill: float,
    leaks: bool,
    up: Up = "show",
    first: int = 1,
) -> _Layered:
    count = layer_count(depth + overfill, epoxy.greatest_pour)
    loss = epoxy.leak_loss if leaks else 0.0
    stays = layers(volume, area, depth, overfill, count)
    poured = sum(stays) / (1.0 - loss)
    place = ResinPlace(
        name=name,
        what=what,
        sort=sort,
        up=up,
        volume=volume,
        overfill=area * overfill,
        loss=loss,
        poured=poured,
        mass=poured * 1e-6 * epoxy.density * (1.0 + epoxy.waste),
        depth=depth + overfill,
        first=first,
        pours=count,
        layer=(depth + overfill) / count,
    )
    return place, stays


def _casting_places(slab: SlabPlan, mending: Mending, epoxy: Epoxy) -> list[_Layered]:
    """Dips and what is filled, but for dips that take wood; a dip begins once the deepest defect under it is full."""
    found: list[_Layered] = []
    under: dict[str, int] = {}
    for mend in mending.mends:
        if mend.chosen not in FILLED:
            continue
        placed = _place(
            mend.name,
            mend.kind,
            "casting",
            epoxy,
            volume=mend.volume,
            area=mend.filled_area,
            depth=mend.depth,
            overfill=0.0 if mend.in_patch else epoxy.overfill,
            leaks=mend.leaks,
            up=_up(mend),
        )
        found.append(placed)
        if mend.in_patch:
            under[mend.in_patch] = max(under.get(mend.in_patch, 0), placed[0].pours)
    if slab.filled_with == "let in wood":
        return found
    return found + [_patch_place(patch, epoxy, 1 + under.get(patch.name, 0)) for patch in slab.patches]


def _up(mend: Mended) -> Up:
    return "underside" if mend.side == "underside" else "show"


def _patch_place(patch: Patch, epoxy: Epoxy, first: int) -> _Layered:
    return _place(
        f"patch {patch.name}",
        "filled dip",
        "casting",
        epoxy,
        volume=patch.volume,
        area=patch.area,
        depth=patch.depth,
        overfill=epoxy.overfill,
        leaks=patch.hole,
        first=first,
    )


def _thin_places(mending: Mending, epoxy: Epoxy) -> list[_Layered]:
    """Thin epoxy in coats; where the least cup of a face holds all of them, they go on from that cup, one after the other."""
    found: list[_Layered] = []
    coated = [_coated(mend, epoxy) for mend in mending.mends if mend.chosen == "thin epoxy"]
    most = greatest_batch(epoxy)
    for up in ("show", "underside"):
        own = [one for one in coated if one[0].up == up]
        grams = sum(place.mass for place, _ in own) * 1000.0
        if own and most is not None and grams <= min(least_batch(epoxy), most):
            own = [(replace(place, pours=1, layer=place.depth), (sum(stays),)) for place, stays in own]
        found += own
    return found


def _coated(mend: Mended, epoxy: Epoxy) -> _Layered:
    """Coats of thin epoxy: the first fills what is empty, each soaks in."""
    thin = mending_figures().thin
    coats, soaked = int(thin["coats"]), thin["soak"] * mend.area
    loss = epoxy.leak_loss if mend.leaks else 0.0
    stays = (mend.volume + soaked, *(soaked for _ in range(coats - 1)))
    poured = thin_volume(mend.volume, mend.area) / (1.0 - loss)
    place = ResinPlace(
        name=mend.name,
        what=mend.kind,
        sort="thin",
        up=_up(mend),
        volume=mend.volume + coats * soaked,
        overfill=0.0,
        loss=loss,
        poured=poured,
        mass=poured * 1e-6 * epoxy.density * (1.0 + epoxy.waste),
        depth=coats * thin["soak"],
        first=1,
        pours=coats,
        layer=thin["soak"],
    )
    return place, stays


def _poured(
    due: Sequence[tuple[ResinPlace, float]],
    epoxy: Epoxy,
    sort: Sort,
    pour: int,
    before: int,
    clock: float,
    most: float,
) -> list[Batch]:
    """The batches of one pour, deepest place first."""
    into = [stays / (1.0 - place.loss) * 1e-3 * epoxy.density for place, stays in due]
    sizes = batch_sizes(sum(into) * (1.0 + epoxy.waste), most, least_batch(epoxy))
    shares = shared_out(into, sizes)
    found = []
    for number, (grams, parts) in enumerate(zip(sizes, shares, strict=True), start=1):
        weighed = mix(grams, epoxy)
        volume = grams / epoxy.density * 1e3
        minutes = epoxy.mixing_minutes + volume / 1e6 * epoxy.minutes_per_litre
        full = sum(into) / sum(sizes)
        found.append(
            Batch(
                number=before + number,
                pour=pour,
                sort=sort,
                start=clock,
                grams=grams,
                resin=weighed.resin,
                hardener=weighed.hardener,
                tint=weighed.tint,
                resin_volume=None if epoxy.resin_density is None else weighed.resin / epoxy.resin_density * 1e3,
                hardener_volume=None
                if epoxy.hardener_density is None
                else weighed.hardener / epoxy.hardener_density * 1e3,
                off_ratio=weighed.off_ratio,
                volume=volume,
                minutes=minutes,
                working=epoxy.working_minutes * epoxy.slower,
                portions=tuple(
                    Portion(due[place][0].name, math.floor(share * grams * full + 0.5)) for place, share in parts
                ),
            )
        )
        clock += minutes / 60.0
    return found


def _rerun(slab: SlabPlan, places: Sequence[ResinPlace]) -> tuple[Rerun, ...]:
    """What of each filled face is cut when the epoxy is hard: its skim where there is one, else its last depth once more."""
    under: FaceName = "B" if slab.show_face == "A" else "A"
    rests = any(each.chosen and each.kind == "rough, rest, skim" for each in slab.procedures)
    return tuple(
        Rerun(face, "skim", None) if rests else Rerun(face, "only", 1)
        for face, up in ((slab.show_face, "show"), (under, "underside"))
        if any(place.up == up for place in places)
    )
