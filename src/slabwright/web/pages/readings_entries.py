"""What is read at the stations: kept as it comes, and counted once however often it is sent."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import Field

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import FaceName
from slabwright.quantities import QuantityError, Units, parse_length
from slabwright.reading.taking import height_above_bed
from slabwright.web.desk import Desk, DeskOf, SessionOf
from slabwright.web.models import ERRORS, JobId, Model
from slabwright.web.readings_journal import Journals, Readings
from slabwright.web.store import NotThere

router = APIRouter()

_HIGHEST = 3000.0
"""Nothing that lies on a bed is read higher above it [mm]."""
MOST_ALONG, MOST_ACROSS = 60, 25
Begun = Annotated[str, Field(min_length=4, max_length=40, description="the id of the readings begun")]
Typed = Annotated[str, Field(max_length=40)]


class Entry(Model):
    """One thing that was done at a station; its id makes it count once."""

    id: str = Field(min_length=8, max_length=64, pattern="^[A-Za-z0-9-]+$", description="made by the device, random")
    act: Literal["take", "skip", "clear", "edges", "middle"] = Field(
        description="take: a height was read; skip: it cannot be reached; clear: as if never read; edges: of this face only "
        "the long edges are read; middle: its middle too"
    )
    face: FaceName
    row: int = Field(0, ge=0, le=MOST_ALONG)
    column: int = Field(0, ge=0, le=MOST_ACROSS)
    typed: Typed = Field("", description="the height as it was typed", examples=["54.2", "2 3/16"])
    line: Typed = Field(
        "", description="height of the level line that it was measured down from; nothing: up from the bed"
    )
    units: Units = Field("metric", description="how a plain number was meant")


class Entries(Model):
    """What a device sends, the oldest first; all of it may be sent again."""

    begun: Begun
    entries: list[Entry] = Field(min_length=1, max_length=200)


class RefusedEntry(Model):
    """An entry that cannot be used; the others are kept."""

    id: str
    error: str


class Kept(Model):
    """What became of the entries."""

    kept: list[str] = Field(description="ids that are on the disk; the device may forget them")
    refused: list[RefusedEntry]
    read: int = Field(description="heights that are read")
    left: int = Field(description="places that are still to be read")


def journals(desk: Desk) -> Journals:
    """The journals of the book that a desk works with."""
    return Journals(desk.store.book.readings)


def readings_meant(desk: Desk, job: int, begun: str) -> Readings:
    """The readings begun that a device means.

    Raises:
        NotThere: they became a survey, or were put aside.
    """
    desk.store.row(job)
    found = journals(desk).read(job)
    if found is None or found.begun != begun:
        raise NotThere(
            "these readings are closed: they became a survey, or were put aside; what was not sent is kept here"
        )
    return found


@router.post("/api/jobs/{job}/readings/entries", responses=ERRORS, tags=["readings"])
def add_entries(job: JobId, given: Entries, desk: DeskOf, session: SessionOf) -> Kept:
    """Keep what was read. Whatever is sent twice counts once; what is told as kept is on the disk."""
    found = readings_meant(desk, job, given.begun)
    lines, kept, refused = [], [], []
    for entry in given.entries:
        try:
            lines.append(_line(entry, found, session.name))
            kept.append(entry.id)
        except (SlabwrightError, QuantityError) as error:
            refused.append(RefusedEntry(id=entry.id, error=str(error)))
    after = journals(desk).add(job, lines)
    places = {(s.face, s.row, s.column) for s in after.wanted}
    return Kept(
        kept=list(dict.fromkeys(kept)),
        refused=refused,
        read=sum(taken.z is not None for taken in after.taken.values()),
        left=len(places - after.taken.keys()),
    )


def _line(entry: Entry, readings: Readings, who: str) -> dict[str, object]:
    """An entry as the journal keeps it.

    Raises:
        SlabwrightError: there is no such station, or no such height.
        QuantityError: what was typed is no length.
    """
    line: dict[str, object] = {"id": entry.id, "act": entry.act, "face": entry.face, "who": who}
    if entry.act in ("edges", "middle"):
        return line
    if readings.station((entry.face, entry.row, entry.column)) is None:
        raise SlabwrightError(f"face {entry.face} has no row {entry.row}, place {entry.column}")
    line |= {"row": entry.row, "column": entry.column, "typed": entry.typed, "z": None}
    if entry.act == "take":
        plain = "in" if entry.units == "inch" else "mm"
        level = parse_length(entry.line, plain) if entry.line.strip() else 0.0
        z = height_above_bed(entry.typed, level, entry.units)
        if not -_HIGHEST <= z <= _HIGHEST:
            raise SlabwrightError(f"{entry.typed!r} is no height of a slab on its bed")
        line |= {"z": z, "line": entry.line, "units": entry.units}
    return line
