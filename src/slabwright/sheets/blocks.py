"""The blocks that a sheet is made of, as the data that the page templates read."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from slabwright.findings import Finding
from slabwright.sheets.cautions import always, cautions
from slabwright.sheets.picture import Picture

Block = dict[str, Any]

LONGEST_LEAD = 90

VOICE_OF = {"stop": "stop", "caution": "care", "note": "chosen"}


@dataclass(frozen=True)
class Sheet:
    """One bench sheet.

    Attributes:
        title: at its head and in its title strip
        lead: one line beside the title
        picture: what takes most of the page
        text: columns of what to do; one beside the picture (`side`), several below it (`wide`)
        layout: where the text stands
        joins: whether it may stand below the sheet before it, where the page has room
        group: of the work that it belongs to; empty: none, on its own page
    """

    title: str
    lead: str
    picture: list[Block]
    text: list[list[Block]]
    layout: Literal["side", "wide"] = "side"
    joins: bool = False
    group: str = ""


def picture(drawing: Picture) -> Block:
    """A drawing at its own size."""
    return {"kind": "picture", "svg": drawing.svg(), "width": drawing.width, "height": drawing.height}


def heading(text: str, chosen: bool = False) -> Block:
    """A small heading, marked where it is what was chosen."""
    return {"kind": "heading", "text": text, "chosen": chosen}


def text(words: str) -> Block:
    """A paragraph."""
    return {"kind": "text", "text": words}


def steps(items: Iterable[str], start: int = 1) -> Block:
    """Numbered steps."""
    return {"kind": "steps", "items": list(items), "start": start}


def checks(items: Iterable[str]) -> Block:
    """Lines with a box to tick."""
    return {"kind": "checks", "items": list(items)}


def caution(*where: str) -> Block:
    """The box of cautions for some kinds of work."""
    return {
        "kind": "caution",
        "first": always(),
        "items": [{"text": c.text, "source": c.source} for c in cautions(*where)],
    }


def voice(kind: Literal["stop", "care", "go", "chosen"], words: str, remedy: str = "", source: str = "") -> Block:
    """A line in one of the four voices: its mark, its word, its ink."""
    return {"kind": "voice", "voice": kind, "text": words, "remedy": remedy, "source": source}


def problem(finding: Finding) -> Block:
    """A check or problem of the plan; a note is told without a voice."""
    if finding.severity == "note":
        return text(f"Note. {finding.message} {finding.remedy}".strip())
    kind: Literal["stop", "care"] = "stop" if finding.severity == "stop" else "care"
    return voice(kind, finding.message, finding.remedy, finding.source)


def figures(items: Iterable[tuple[str, str, bool]]) -> Block:
    """Great figures side by side: value, label, and whether it is the chosen one."""
    return {"kind": "figures", "items": [{"value": v, "label": label, "chosen": chosen} for v, label, chosen in items]}


def table(
    head: Sequence[str],
    align: str,
    rows: Iterable[Sequence[str]],
    *,
    chosen: Iterable[int] = (),
    wide: Collection[int] = (),
    pad: float = 4.0,
) -> Block:
    """A table.

    Args:
        head: of each column
        align: a letter (l, c, r) for each column
        rows: cells; `[box]` is a box to tick, `[write]` one to write in, with what is known already after that word,
            `[tick]` a yes, `[chosen]` the chosen one
        chosen: rows in bold
        wide: the columns that share what room is left
        pad: above and below each row [pt]
    """
    bold = set(chosen)
    return {
        "kind": "table",
        "head": list(head),
        "align": list(align),
        "widths": ["1fr" if k in wide else "auto" for k in range(len(head))],
        "rows": [{"cells": list(row), "chosen": k in bold} for k, row in enumerate(rows)],
        "pad": pad,
    }


def contents() -> Block:
    """Every group of sheets with its pages, every sheet with its page."""
    return {"kind": "contents"}


def side_by_side(columns: Iterable[list[Block]]) -> Block:
    """Columns of blocks within a column."""
    return {"kind": "side-by-side", "columns": list(columns)}


def cards(drawings: Iterable[Picture], columns: int, gap: float) -> Block:
    """Drawings in rows, `gap` mm apart."""
    return {"kind": "cards", "items": [picture(d) for d in drawings], "columns": columns, "gap": gap}


def maps(
    items: Iterable[tuple[Picture, str, list[tuple[str, str]], list[str]]], columns: int, beside: bool = False
) -> Block:
    """Small maps in rows: drawing; below or beside it a head with a box to tick, great figures with labels, and lines."""
    return {
        "kind": "maps",
        "columns": columns,
        "beside": beside,
        "items": [
            picture(d)
            | {"head": head, "great": [{"value": value, "label": label} for value, label in great], "lines": lines}
            for d, head, great, lines in items
        ],
    }


def why(items: Iterable[tuple[str, str]]) -> Block:
    """Footnotes: a figure's name and its account."""
    return {"kind": "why", "items": [{"figure": figure, "text": words} for figure, words in items]}
