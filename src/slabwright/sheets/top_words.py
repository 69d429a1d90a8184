"""The words of the top's sheets: lengths as they are marked out, features by number, their size, what they are for."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Literal

from slabwright import quantities
from slabwright.job.top_models import Bar, Channel, Edge, Feature, Insert, Key, Outlet, Pocket, ThroughHole
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block
from slabwright.sheets.context import Context
from slabwright.sheets.words import Words, plain
from slabwright.top.layout_results import TopFeature
from slabwright.top.results import TopPlan

Side = Literal["show", "underside"]
SIDES: tuple[Side, Side] = ("show", "underside")
FACE_WORDS: dict[Side, str] = {"show": "show face", "underside": "underside"}
LONGEST_NAME = 26
_GUTTER = 7.0
_LETTER, _LINE, _BETWEEN = 1.47, 4.05, 2.4
"""Width of a letter of running text, height of a line, and what lies between two blocks [mm]."""
_FIGURES, _HEADING = 18.5, 8.5
_HALVES_UP = 1e-6
"""Added before rounding, so that two halves that differ by an error of the last digit are told alike [mm]."""


def mark(mm: float, words: Words) -> str:
    """A place as it is marked out, without its unit: tenths of a millimetre, or inches to a thirty-second."""
    if words.metric:
        text = f"{mm + math.copysign(_HALVES_UP, mm):.1f}".removesuffix(".0")
        return "0" if text == "-0" else text.replace("-", "−")
    return quantities.nearest_fraction(mm, 32)[0].replace("-", "−").replace(" ", "\u00a0")


def tape(mm: float, words: Words) -> str:
    """The same with its unit."""
    return f"{mark(mm, words)}\u00a0mm" if words.metric else mark(mm, words)


def numbers(plan: TopPlan) -> dict[str, int]:
    """The number of each feature on the drawings, in the order in which the job states them."""
    return {feature.name: number for number, feature in enumerate(plan.features, start=1)}


def stated(context: Context) -> dict[str, Feature]:
    """Each feature as the job states it."""
    top = context.plan.job.stated.top
    return {} if top is None else {feature.name: feature for feature in top.features}


def called(name: str, most: int = LONGEST_NAME) -> str:
    """A feature's name on one line."""
    return plain(name, most)


def size_of(feature: TopFeature, asked: Feature, words: Words) -> str:
    """The size that is cut."""
    if isinstance(asked, Pocket | Bar):
        return f"{mark(feature.length or 0.0, words)} x {mark(feature.width or 0.0, words)}"
    if isinstance(asked, Insert):
        return f"Ø {mark(asked.drill, words)}"
    if isinstance(asked, ThroughHole):
        return f"Ø {mark(asked.diameter, words)}"
    if isinstance(asked, Outlet):
        return f"Ø {mark(asked.diameter, words)}, recess Ø {mark(asked.recess_diameter, words)}"
    if isinstance(asked, Channel):
        return f"{mark(asked.width, words)} wide"
    if isinstance(asked, Key):
        return f"{mark(asked.length, words)} x {mark(asked.width, words)}, waist {mark(asked.waist, words)}"
    assert isinstance(asked, Edge)
    return f"{mark(asked.size, words)} {asked.kind}"


def depth_of(feature: TopFeature, asked: Feature, words: Words) -> str:
    """How deep it is cut below its own face; with an outlet, its recess."""
    if isinstance(asked, Outlet):
        return f"through, recess {words.number(asked.recess_depth)}"
    if isinstance(asked, ThroughHole):
        return "through"
    return words.number(feature.depth)


def of_face(plan: TopPlan, side: Side) -> list[TopFeature]:
    """The features that are seen on a face: its own, and what goes through."""
    return [each for each in plan.features if each.face == side or each.kind in ("through hole", "outlet")]


def faces_with_features(plan: TopPlan) -> list[Side]:
    """The faces that have a drawing."""
    return [side for side in SIDES if of_face(plan, side)]


def problems(context: Context, codes: Iterable[str], most: int = 3) -> list[Block]:
    """What the plan says that belongs on a sheet, the weightiest first; the rest by where it stands."""
    wanted = {f"top/{code}" for code in codes}
    rank = {"stop": 0, "caution": 1, "note": 2}
    found = sorted((f for f in context.plan.findings if f.code in wanted), key=lambda f: rank[f.severity])
    said = [blocks.problem(each) for each in found[:most]]
    if len(found) > most:
        said.append(blocks.text(f"{len(found) - most} more: see slabwright check."))
    return said


def text_height(context: Context, columns: Sequence[Sequence[Block]]) -> float:
    """How much of a page its columns of text want, rather much [mm]."""
    width = (context.paper.inner_width - (len(columns) - 1) * _GUTTER) / len(columns)
    return max(sum(_height(block, width) for block in column) for column in columns)


def _lines(text: str, width: float) -> float:
    """Height of a text [mm]."""
    return max(math.ceil(len(text) * _LETTER / width), 1) * _LINE


def _height(block: Block, width: float) -> float:
    kind = block["kind"]
    if kind in ("figures", "heading"):
        return _FIGURES if kind == "figures" else _HEADING
    if kind == "side-by-side":
        inner = width / len(block["columns"]) - 3.0
        return max(sum(_height(each, inner) for each in column) for column in block["columns"])
    if kind in ("steps", "checks"):
        return sum(_lines(item, width - 6.0) + _BETWEEN for item in block["items"])
    if kind == "table":
        return float((len(block["rows"]) + 1) * (2.7 + 0.706 * block["pad"]) + _BETWEEN)
    if kind == "text":
        return _lines(block["text"], width) + _BETWEEN
    if kind == "voice":
        mends = _lines(f"What mends it: {block['remedy']} {block['source']}", width) if block["remedy"] else 0.0
        return _lines(f"Stop. {block['text']}", width) + mends + _BETWEEN
    assert kind == "caution"
    inner = width - 5.6
    items = sum(_lines(f"{each['text']} [{each['source']}]", inner) + 2.0 for each in block["items"])
    return float(_lines(f"Care.  {block['first']}", inner) + items + 5.0)
