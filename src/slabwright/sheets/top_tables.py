"""The feature table and the fastenings of the top."""

from __future__ import annotations

from collections.abc import Sequence

from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.top_words import FACE_WORDS, called, depth_of, numbers, problems, size_of, stated
from slabwright.sheets.words import Words
from slabwright.top.fasteners import Fastening
from slabwright.top.layout_results import TopFeature
from slabwright.top.results import TopPlan

_ROW = 6.1
"""Of a table [mm]."""
_HEAD = 9.0
_BESIDE_TABLE = 50.0
"""What stands below the first table [mm]."""


def _split(count: int, first: int, each: int) -> list[tuple[int, int]]:
    """Rows of each page: fewer on the first, which has text below."""
    if count <= first:
        return [(0, count)]
    spans, start = [], 0
    while count - start > first:
        end = min(start + each, count - 1)
        spans.append((start, end))
        start = end
    return [*spans, (start, count)]


def _named(title: str, page: int, pages: int) -> str:
    return title if pages == 1 else f"{title}, {page} of {pages}"


def feature_sheets(context: Context, plan: TopPlan) -> list[Sheet]:
    """Every feature: where it is, how large, how deep, the wood left, and a box to tick."""
    if not plan.features:
        return []
    words = context.words
    number, asked = numbers(plan), stated(context)
    rows = [_feature_row(number[f.name], f, size_of(f, asked[f.name], words), depth_of(f, asked[f.name], words), words)
            for f in plan.features]  # fmt: skip
    unit = "mm" if words.metric else "in"
    head = ["", "Name", "Cut into", f"Along, {unit}", "Across", f"Size, {unit}", f"Depth, {unit}", "Wood left", "asked",
            "Set", "Cut"]  # fmt: skip
    low = {k for k, f in enumerate(plan.features) if _short(f)}
    room = context.paper.inner_height - _HEAD
    spans = _split(len(rows), int((room - _BESIDE_TABLE) / _ROW), int(room / _ROW))
    sheets = []
    for page, (start, end) in enumerate(spans, start=1):
        part = rows[start:end]
        table = blocks.table(
            head, "rllrrlrrrcc", part, chosen=[k - start for k in low if start <= k < end], wide=(1,), pad=3.0
        )
        last = page == len(spans)
        lead = "Along: from the left end. Across: from the centre line, to the far or the near edge."
        sheets.append(
            Sheet(
                _named("Features of the top", page, len(spans)),
                lead,
                [table],
                _below(context, plan) if last else [[]],
                "wide",
            )
        )
    return sheets


def _short(feature: TopFeature) -> bool:
    return (
        feature.wood_left is not None
        and feature.wood_asked is not None
        and feature.wood_left < feature.wood_asked - 1e-6
    )


def _feature_row(number: int, feature: TopFeature, size: str, depth: str, words: Words) -> list[str]:
    along, across = feature.along, feature.across
    if feature.kind in ("pocket", "bar"):
        # The middle of what is cut: a pocket's opening may lie off its plate.
        x0, y0, x1, y1 = feature.shape().bounds
        along, across = (x0 + x1) / 2, (y0 + y1) / 2
    if across is None:
        side = "see drawing" if feature.length is not None else ""
    elif abs(across) < 0.05:
        side = "on it"
    else:
        side = f"{words.number(abs(across))} {'far' if across > 0 else 'near'}"
    left = "" if feature.wood_left is None else words.number(feature.wood_left)
    asked = "" if feature.wood_asked is None else words.number(feature.wood_asked)
    return [
        str(number),
        called(feature.name) + (f", in {called(feature.lies_in, 14)}" if feature.lies_in else ""),
        FACE_WORDS["show" if feature.face == "show" else "underside"],
        "" if along is None else words.number(along),
        side,
        size,
        depth,
        left + (" short" if _short(feature) else ""),
        asked,
        "[box]",
        "[box]",
    ]


def _below(context: Context, plan: TopPlan) -> list[list[Block]]:
    words = context.words
    thickness = plan.layout.thickness
    pocket = any(feature.kind == "pocket" for feature in plan.features)
    first = [
        "Depths are from the feature's own face; a hole in a pocket is told from the face too, pocket and all.",
        f"Measure the board first: depths hold for {words.fine(thickness)}. Thinner: take the difference off the wood left.",
    ]
    if pocket:
        first.append(
            "Pockets: the opening and its middle, as cut; the plate's own middle may lie off it: see Movement."
        )
    steps = [
        "Set the depth on waste and tick Set; cut and tick Cut.",
        "Pockets before the holes in them; through holes from the show face into a backing board.",
        "Finish the walls and floors like the faces: same coats.",
    ]
    return [[blocks.text(each) for each in first], [blocks.steps(steps)], [blocks.caution("top features")]]


def fastening_sheets(context: Context, plan: TopPlan) -> list[Sheet]:
    """Drill, depth, bolt and hold of every insert; alike ones in one row."""
    if not plan.fastenings:
        return []
    words = context.words
    number = numbers(plan)
    groups: dict[tuple[object, ...], list[Fastening]] = {}
    for each in plan.fastenings:
        key = (
            each.thread_name,
            each.hole_diameter,
            each.hole_depth,
            each.bolt_length,
            each.engagement,
            round(each.wood_left, 2),
            None if each.allowed is None else round(each.allowed),
        )
        groups.setdefault(key, []).append(each)
    rows = [_fastening_row(found, number, words) for found in groups.values()]
    unit = "mm" if words.metric else "in"
    head = ["Features", "Bolt", "Drill", f"Depth, {unit}", "at least", "Thread in", "at least", "Bolt length", "from", "to",
            "Wood left", "Pulls out at", "Load at most"]  # fmt: skip
    room = context.paper.inner_height - 14.0
    spans = _split(len(rows), int((room - 62.0) / _ROW), int(room / _ROW))
    sheets = []
    for page, (start, end) in enumerate(spans, start=1):
        table = blocks.table(head, "llrrrrrrrrrrr", rows[start:end], wide=(0,), pad=3.2)
        last = page == len(spans)
        sheets.append(
            Sheet(
                _named("Fastenings", page, len(spans)),
                "Threaded inserts and their bolts. Depth: below the face, or the floor of its pocket.",
                [table],
                _fastening_notes(context, plan) if last else [[]],
                "wide",
                joins=page == 1,
            )
        )
    return sheets


def _fastening_row(found: Sequence[Fastening], number: dict[str, int], words: Words) -> list[str]:
    each = found[0]
    names = [f"{number[f.name]} {called(f.name, 22)}" for f in found]
    said = ", ".join(names[:2]) + (
        f" and {', '.join(str(number[f.name]) for f in found[2:8])}" if len(names) > 2 else ""
    )
    if len(names) > 8:
        said += f" and {len(names) - 8} more"

    def one(mm: float | None) -> str:
        return "none fits" if mm is None else words.number(mm)

    known = each.bolt_length_least is not None
    return [
        said,
        each.thread_name,
        f"Ø {words.number(each.hole_diameter)}",
        words.number(each.hole_depth),
        words.number(each.hole_depth_least),
        words.number(each.engagement),
        words.number(each.engagement_least),
        one(each.bolt_length) if known else "plate?",
        words.number(each.bolt_length_least) if each.bolt_length_least is not None else "",
        words.number(each.bolt_length_most) if each.bolt_length_most is not None else "",
        words.number(each.wood_left),
        "not known" if each.holds is None else words.force(each.holds),
        "not known" if each.allowed is None else words.force(each.allowed),
    ]


_FASTENERS = (
    "bolt-unknown",
    "no-bolt-fits",
    "little-thread",
    "hole-too-shallow",
    "insert-near-edge",
    "insert-cover",
)


def _fastening_notes(context: Context, plan: TopPlan) -> list[list[Block]]:
    words = context.words
    first = plan.fastenings[0]
    edge = min(plan.fastenings, key=lambda each: each.edge - each.edge_least)
    end = min(plan.fastenings, key=lambda each: each.end - each.end_least)
    source = context.because("top.fastenings[0].holds") or context.because("top.fastenings.holds")
    notes = [
        f"Pull straight out of side grain. Load at most: the pull that draws it out, divided by {first.safety:g} (no test stands "
        "behind it). 40 % either way, from memory.",
        *([source] if source else [_SOURCE]),
    ]
    near = [
        f"Nearest to a long edge: {called(edge.name)}, {words.fine(edge.edge)}; at least {words.fine(edge.edge_least)}.",
        f"Nearest to an end: {called(end.name)}, {words.fine(end.end)}; at least {words.fine(end.end_least)} (common practice).",
    ]
    steps = [
        "Drill on waste, drive one insert, try the bolt: it must not bottom.",
        "Drill square to the face, stop set to the depth. Blow out the dust.",
        "Insert flush or just below. Bolts snug on their washers: see Movement.",
    ]
    ticks = ["Bolt tried in every insert by hand", "No bolt reaches the bottom of its hole"]
    return [
        [blocks.heading("What it holds"), *(blocks.text(each) for each in [*notes, *near])],
        [blocks.steps(steps), blocks.checks(ticks)],
        [*problems(context, _FASTENERS, 2), blocks.caution("drilling")],
    ]


_SOURCE = "As a lag screw of the hole's diameter over the bolt's thread: Wood Handbook, chapter 8; common practice."
