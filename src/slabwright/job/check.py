"""What a job does not say yet, and what it would make possible."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from slabwright.job.loaded import Job
from slabwright.job.models import JobFile, Slab


@dataclass(frozen=True)
class Missing:
    """Something that is not stated yet.

    Attributes:
        key: `piece.length`, or `shop:prices.hour` in the shop file
        why: what it would make possible
        how: what to write or do
    """

    key: str
    why: str
    how: str


def missing(job: Job) -> list[Missing]:
    """What a job does not say yet, in the order of the work.

    Args:
        job: from `load_job`

    Returns:
        What is missing; what has a usable default is not.
    """
    return [
        *_of_piece(job.stated),
        *_of_room(job.stated),
        *_of_slab(job),
        *_of_fill(job.stated),
        *_of_shop(job),
        *_of_work(job.stated),
    ]


def _of_piece(stated: JobFile) -> Iterator[Missing]:
    piece = stated.piece
    if piece.length is None:
        yield Missing(
            "piece.length", "where the slab is cut to length", "[piece] length = ..., finished, along the grain"
        )
    if piece.width is None and piece.live_edges == "none":
        yield Missing("piece.width", "where the edges are cut", "[piece] width = ..., as no long edge stays live")
    if piece.height is None:
        yield Missing(
            "piece.height", "how high the base is", "[piece] height = ..., of the finished top above the floor"
        )
    if piece.base is None:
        yield Missing(
            "piece.base", "which base is drawn and weighed", '[piece] base = "U legs", or another of the pictures'
        )
    if piece.base is not None and not _holds_base(stated):
        yield Missing(
            "top.features",
            "where the base's bolts go into the wood, and how long they are",
            '[[top.features]] kind = "insert" for each bolt; `slabwright why JOB.toml base.inserts_to_paste` writes them out',
        )
    if piece.finish is None:
        yield Missing("piece.finish", "coats, amounts and drying days", '[piece] finish = "...", in your words')


def _holds_base(stated: JobFile) -> bool:
    """Whether the top has an insert, or the base is a free frame with bolts of its own."""
    features = stated.top.features if stated.top is not None else ()
    free = stated.base is not None and bool(stated.base.nodes)
    return free or any(feature.kind == "insert" for feature in features)


def _of_room(stated: JobFile) -> Iterator[Missing]:
    if stated.room is None or not (stated.room.kind or (stated.room.dry and stated.room.damp)):
        yield Missing(
            "room.kind",
            "how dry the slab must be, and how the top moves over the year",
            '[room] kind = "heated house", "air-conditioned" or "church"; or the air of its dry and damp season',
        )


def _of_slab(job: Job) -> Iterator[Missing]:
    slab = job.stated.slab
    if slab is None:
        yield Missing("slab.species", "anything about the wood", '[slab] species = "ash, white", or what it is')
        return
    if job.readings is None:
        if slab.planned is None:
            yield Missing(
                "slab.planned",
                "the rough slab that is looked for; until then a first price takes one that is usual for its sizes",
                "[slab.planned] length, width, thickness as sold",
            )
        yield Missing(
            "slab.survey",
            "how the slab must lie, the thickest board, shims and depths",
            "`slabwright read` takes readings by hand; or [slab] survey = a file of readings",
        )
    else:
        yield from _of_readings(job, slab)
    moisture = slab.moisture
    if moisture is None or not moisture.shell:
        yield Missing(
            "slab.moisture.shell",
            "whether the slab is dry enough to cut",
            "[slab.moisture] shell = [...], meter readings, %",
        )
    if moisture is None or not moisture.core:
        yield Missing(
            "slab.moisture.core",
            "whether it is as dry inside: a wet core bows the board later",
            "[slab.moisture] core = [...], read at half the thickness, %",
        )
    if moisture is None or moisture.days_in_shop is None:
        yield Missing(
            "slab.moisture.days_in_shop",
            "how long to wait before it is cut",
            "[slab.moisture] days_in_shop = ..., stickered",
        )


def _of_readings(job: Job, slab: Slab) -> Iterator[Missing]:
    lay = slab.lay
    if lay is None or not (lay.full_support or lay.supports):
        yield Missing(
            "slab.lay.supports",
            "taking the slab's own sag out of the readings",
            "[slab.lay] supports = [x, x] of the bearers it lay on; or full_support = true",
        )
    if job.readings is not None and job.readings.outline_a is None:
        yield Missing(
            "slab.outline",
            "using the wood out to the edge: only what lies between the outermost readings is used",
            "[slab] outline = a file of the outline's corners",
        )


def _of_fill(stated: JobFile) -> Iterator[Missing]:
    fill = stated.fill
    priced = fill.price_per_litre is not None or fill.price_per_visible_area is not None
    if not priced:
        yield Missing(
            "fill.price_per_litre",
            "weighing a thicker top against filled dips; without a price nothing is filled",
            "[fill] price_per_litre and price_per_visible_area",
        )
    elif fill.client_agrees is None:
        yield Missing(
            "fill.client_agrees", "filling where it is seen", "[fill] client_agrees = true once the client has signed"
        )


def _of_shop(job: Job) -> Iterator[Missing]:
    if not any(key.startswith("shop:") for key in job.where):
        yield Missing(
            "shop:machine",
            "your own machine, bed, shims and epoxy in place of the usual ones",
            "shop.toml beside the job, or slabwright/shop.toml in your config folder; `slabwright new` writes one",
        )
    prices = job.shop.prices
    for key, of in (("wood_per_cubic_metre", "a length cut off"), ("insert_per_piece", "a let-in piece of wood")):
        if getattr(prices, key) is None:
            yield Missing(
                f"shop:prices.{key}",
                f"what {of} costs when ways out of a dip are compared",
                f"[prices] {key} = ... in the shop file",
            )


def _of_work(stated: JobFile) -> Iterator[Missing]:
    if stated.checks and (stated.as_made is None or stated.as_made.thickness is None):
        yield Missing(
            "as_made.thickness",
            "going on with the board as it came out",
            "[as_made] thickness = ..., the least measured",
        )
