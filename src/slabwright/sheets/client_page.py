"""A page for the client: what quotes, invoices and changes have in common."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from importlib.resources import as_file, files
from typing import Any

from slabwright.job.loaded import Job
from slabwright.sheets.fonts import FAMILY, font_folder
from slabwright.sheets.picture import Picture
from slabwright.sheets.words import plain
from slabwright.shop.money import format_amount
from slabwright.shop.stages import StageDue

Block = dict[str, Any]

PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Upright [mm]."""
INNER = 44.0
"""Both side margins [mm], as in client.typ."""


def paper_of(job: Job) -> tuple[float, float]:
    """Width and height of the job's paper, upright [mm]."""
    head = job.stated.job
    return PAPERS[head.paper or ("A4" if head.units == "metric" else "Letter")]


def rows(items: Iterable[tuple[str, str]]) -> Block:
    """Names and what they are."""
    return {"kind": "rows", "items": [[plain(name, 60), plain(value, 300)] for name, value in items if value]}


def money_lines(items: Iterable[tuple[str, str, bool]]) -> Block:
    """Names with amounts; the last of each says whether it is in bold."""
    return {"kind": "money", "items": [{"name": plain(n, 120), "amount": a, "bold": b} for n, a, b in items]}


def great(label: str, value: str) -> Block:
    """The one figure that is looked for."""
    return {"kind": "great", "label": label, "value": value}


def heading(text: str) -> Block:
    """A small heading."""
    return {"kind": "heading", "text": text}


def text(words: str) -> Block:
    """A paragraph."""
    return {"kind": "text", "text": words}


def care(words: str) -> Block:
    """A line in the voice that asks for care."""
    return {"kind": "care", "text": words}


def small(items: Sequence[str]) -> Block:
    """Sentences in small type."""
    return {"kind": "small", "items": [plain(item, 400) for item in items]}


def picture(drawing: Picture) -> Block:
    """A drawing at its own size."""
    return {"kind": "picture", "svg": drawing.svg(), "width": drawing.width, "height": drawing.height}


def beside(drawing: Picture, blocks: Sequence[Block]) -> Block:
    """A drawing with blocks to its right."""
    return {"kind": "beside", "left": picture(drawing), "right": list(blocks)}


def signing(words: str, labels: Sequence[str]) -> Block:
    """Lines to sign on."""
    return {"kind": "signing", "words": words, "labels": list(labels)}


def stage_table(stages: Sequence[StageDue], currency: str) -> Block:
    """The payments, numbered as on their tape."""
    table = []
    for number, stage in enumerate(stages, 1):
        when = "when signed off" if stage.due.startswith("when signed off") else stage.due
        name = f"{stage.name[:1].upper()}{stage.name[1:]}"
        table.append(
            [str(number), f"{plain(name, 100)}: {when}", f"{stage.share:g} %", format_amount(stage.amount, currency)]
        )
    return {"kind": "stages", "head": ["", "Payment, when it must have cleared", "Share", "Amount"], "rows": table}


def client_pdf(job: Job, title: str, reference: str, blocks: Sequence[Block]) -> bytes:
    """Pages for the client, the same bytes each time.

    Args:
        job: with client and paper, and the shop's name
        title: at the head
        reference: beside it: number and date
        blocks: what follows

    Raises:
        RuntimeError: the typesetter warns, of a font that is missing for one (a fault of this program)
    """
    import typst

    head, money = job.stated.job, job.shop.money
    width, height = paper_of(job)
    town = job.stated.brief.town if job.stated.brief is not None else ""
    if town in [part.strip() for part in head.client.split(",")]:
        town = ""  # the client's own line has it
    data = {
        "paper": {"width": width, "height": height},
        "family": FAMILY,
        "title": plain(title, 60),
        "reference": plain(reference, 80),
        "shop": {
            "name": plain(money.trades_as, 80) or "[money] trades_as: your shop's name",
            "lines": [plain(line, 80) for line in money.address],
        },
        "to": [plain(line, 80) for line in (head.client, town) if line],
        "foot": plain(f"{head.title} · revision {head.revision}", 90),
        "blocks": list(blocks),
    }
    with as_file(files("slabwright.sheets")) as folder:
        pdf, warnings = typst.compile_with_warnings(
            str(folder / "client.typ"),
            root=str(folder),
            sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
            font_paths=[str(font_folder())],
            ignore_system_fonts=True,
        )
    if warnings:
        raise RuntimeError(f"the typesetter warns: {[str(warning.message) for warning in warnings]}")
    return bytes(pdf)
