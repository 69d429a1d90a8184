"""How much height text wants on a page, so that the picture above it takes the rest."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from slabwright.sheets.blocks import Block
from slabwright.sheets.context import Context

_LETTER = 1.64
"""Width of a letter of running text, rather much [mm]."""
_LINE = 4.15
_GUTTER = 7.0
LEAST, MOST = 56.0, 88.0
"""Of the picture of a clamping [mm]."""


def _lines(text: str, width: float) -> int:
    return max(ceil(len(text) * _LETTER / width), 1)


def block_height(block: Block, width: float) -> float:
    """The height of a block of text in a column [mm].

    Args:
        block: steps, checks, table, heading, text, voice or caution
        width: of the column [mm]

    Raises:
        ValueError: another kind of block
    """
    kind = block["kind"]
    if kind in ("steps", "checks"):
        return float(sum(_lines(item, width - 6.2) * _LINE + 2.4 for item in block["items"]))
    if kind == "table":
        return float((len(block["rows"]) + 1) * (3.1 + 2 * block["pad"] * 0.353) + 2.2)
    if kind == "heading":
        return 9.0
    if kind == "text":
        return _lines(block["text"], width) * _LINE + 2.4
    if kind == "voice":
        said = f"{block['text']} {block['remedy']} {block['source']} What mends it: Stop. "
        return (_lines(said, width) + 1) * _LINE + 2.7
    if kind == "caution":
        inner = width - 5.6
        first = _lines("Care.  " + block["first"], inner) * _LINE
        items = sum(_lines(f"{each['text']} [{each['source']}]", inner) * _LINE + 2.0 for each in block["items"])
        return float(first + items + 4.5)
    raise ValueError(f"no height for {kind}")


def picture_height(context: Context, others: float, columns: Sequence[Sequence[Block]]) -> float:
    """What is left of a page for its picture [mm].

    Args:
        context: its paper
        others: height of what else stands above the text [mm]
        columns: of text
    """
    width = (context.paper.inner_width - (len(columns) - 1) * _GUTTER) / len(columns)
    text = max(sum(block_height(block, width) for block in column) for column in columns)
    return min(max(context.paper.inner_height - others - text - 6.0, LEAST), MOST)
