"""Readings: one station at a time on a large keypad; what is typed while the link is down comes later, and counts once."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter
from pydantic import Field

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import FaceName
from slabwright.job.models import JobFile
from slabwright.quantities import QuantityError, Units, format_length, parse_length
from slabwright.reading.stations import Station, tapered_outline
from slabwright.reading.taking import FAR_OFF, all_stations
from slabwright.web.desk import Desk, DeskOf, SessionOf, device
from slabwright.web.models import ERRORS, Edited, JobId, JobView, Model, Number
from slabwright.web.page import Page, job_page
from slabwright.web.pages import readings_entries, readings_sofar
from slabwright.web.pages.readings_entries import MOST_ACROSS, MOST_ALONG, Begun, Kept, Typed, journals, readings_meant
from slabwright.web.readings_journal import Readings
from slabwright.web.readings_lie import with_survey
from slabwright.web.store import Now

router = APIRouter()
router.include_router(readings_entries.router)
router.include_router(readings_sofar.router)

After = Literal["", "rough A", "rough B", "skim A"]


class StationView(Model):
    """One place on one face."""

    face: FaceName
    row: int = Field(description="from 1, along the grain")
    column: int = Field(description="from 1, across")
    x: float = Field(description="along the grain, mm")
    y: float = Field(description="across, mm")
    words: str = Field(description="the place as people find it")


class TakenView(Model):
    """What was read at a place."""

    face: FaceName
    row: int
    column: int
    z: float | None = Field(description="height above the bed, mm; nothing where it was skipped")
    shown: str = Field(description="the height as people read it, or: skipped")


class BegunView(Model):
    """Readings that are being taken."""

    begun: str = Field(description="their id")
    along: int
    across: int
    after: str = Field(description="the cut that a re-reading follows; nothing where the slab is read as it came")
    outline: list[tuple[float, float]] = Field(description="corners, mm")
    stations: list[StationView] = Field(description="in the order in which they are read")
    taken: list[TakenView]
    edges_only: list[FaceName] = Field(description="faces whose middle cannot be reached")
    far_off: float = Field(description="a height this far from its neighbours is asked for again, mm")


class ReadingsView(JobView):
    """The page where a slab is read by hand."""

    ready: bool = Field(description="whether the job has a slab that can be read")
    read_before: str = Field(description="what it was read with already, or nothing")
    outline_known: bool = Field(description="whether the job has an outline; else length and widths are asked for")
    length: str = Field(description="of the slab as it was planned, or nothing")
    width: str = Field(description="of the slab as it was planned, or nothing")
    along: int = Field(description="rows, as suggested")
    across: int = Field(description="stations in a row, as suggested")
    begun: BegunView | None = Field(description="nothing where none are being taken")


class Begin(Model):
    """How the stations are laid out."""

    along: int = Field(ge=2, le=MOST_ALONG, description="rows along the grain")
    across: int = Field(ge=2, le=MOST_ACROSS, description="stations in a row")
    length: Typed = Field("", description="of the slab; only where the job has no outline", examples=["2450"])
    near: Typed = Field("", description="width where x = 0", examples=["910"])
    middle: Typed = Field("", description="width half way; as at the near end if left out")
    far: Typed = Field("", description="width at the far end; as half way if left out")
    after: After = Field("", description="the cut that it is read again after; nothing: as it came")


class Finish(Model):
    """Make the survey of what was read."""

    begun: Begun
    based_on: Number = Field(description="the revision that was looked at")


class Aside(Model):
    """Put the readings begun aside."""

    begun: Begun


def place_words(station: Station, units: Units) -> str:
    """A station as people find it on the slab."""
    if station.at_edge:
        where = "near edge" if station.column == 1 else "far edge"
    elif station.columns == 3:
        where = "middle"
    else:
        where = f"place {station.column} of {station.columns}"
    x, y = (format_length(value, units, 0 if units == "metric" else None) for value in (station.x, station.y))
    return f"row {station.row} of {station.rows}, {where}: x {x}, y {y}"


def _height_words(z: float | None, units: Units) -> str:
    return "skipped" if z is None else format_length(z, units, 1 if units == "metric" else None)


def _begun_view(readings: Readings, units: Units) -> BegunView:
    return BegunView(
        begun=readings.begun,
        along=readings.along,
        across=readings.across,
        after=readings.after or "",
        outline=[(x, y) for x, y in readings.outline],
        stations=[
            StationView(face=s.face, row=s.row, column=s.column, x=s.x, y=s.y, words=place_words(s, units))
            for s in readings.stations
        ],
        taken=[
            TakenView(face=taken.face, row=row, column=column, z=taken.z, shown=_height_words(taken.z, units))
            for (_, row, column), taken in readings.taken.items()
        ],
        edges_only=[face for face in ("A", "B") if face in readings.edges_only],
        far_off=FAR_OFF,
    )


def _view(desk: Desk, now: Now) -> ReadingsView:
    head = desk.head(now)
    result = now.planned.result
    stated = result.job.stated if result else None
    slab = stated.slab if stated else None
    units = head.units
    readings = journals(desk).read(now.row.id)
    planned = slab.planned if slab else None
    read = result.job.readings if result else None
    files = [name for name in (slab.survey, slab.survey_a, slab.survey_b) if name] if slab else []
    shown = [format_length(v, units) for v in (planned.length, planned.width)] if planned else ["", ""]
    return ReadingsView(
        head=head,
        ready=slab is not None,
        read_before=f"{', '.join(files)}: {len(read.face_a)} readings of face A, {len(read.face_b)} of face B"
        if read
        else "",
        outline_known=read is not None and read.outline_a is not None,
        length=shown[0],
        width=shown[1],
        along=9,
        across=5,
        begun=_begun_view(readings, units) if readings else None,
    )


def _stated(desk: Desk, job: int) -> tuple[JobFile, Now]:
    now = desk.store.now(job)
    if now.planned.result is None:
        raise SlabwrightError(now.planned.refused)
    return now.planned.result.job.stated, now


def _length(typed: str, what: str, units: Units) -> float:
    try:
        value = parse_length(typed.strip(), "in" if units == "inch" else "mm")
    except QuantityError as error:
        raise SlabwrightError(f"{what}: {error}") from None
    if not 20.0 <= value <= 20_000.0:
        raise SlabwrightError(f"{what}: {format_length(value, units)} is no slab's; type it as the tape says")
    return value


def _outline(given: Begin, now: Now, units: Units) -> tuple[list[list[float]], bool]:
    """The slab's outline: the job's own, or one made from length and widths."""
    result = now.planned.result
    read = result.job.readings if result else None
    if read is not None and read.outline_a is not None:
        return [[float(x), float(y)] for x, y in read.outline_a], False
    if not given.length.strip() or not given.near.strip():
        raise SlabwrightError("length and width of the slab are wanted: the places are laid out on it")
    length = _length(given.length, "length", units)
    near = _length(given.near, "width at x = 0", units)
    middle = _length(given.middle, "width half way", units) if given.middle.strip() else near
    far = _length(given.far, "width at the far end", units) if given.far.strip() else middle
    return tapered_outline(length, (near, middle, far)).tolist(), True


@router.post("/api/jobs/{job}/readings/begin", responses=ERRORS, tags=["readings"], status_code=201)
def begin_readings(job: JobId, given: Begin, desk: DeskOf, session: SessionOf) -> BegunView:
    """Lay the stations out and begin; nothing of the job is changed until the survey is made."""
    stated, now = _stated(desk, job)
    if stated.slab is None:
        raise SlabwrightError("the job has no slab yet; state its species on the brief first")
    if given.after and not (stated.slab.survey or stated.slab.survey_a):
        raise SlabwrightError("it is read again after a cut only where it was read before; leave `after` out")
    units = stated.job.units
    outline, made = _outline(given, now, units)
    laid = Readings("", given.along, given.across, outline, made, given.after or None, (), session.name)
    places = all_stations(stated.slab, laid.as_begun(), units)
    begun = journals(desk).begin(
        job,
        along=given.along,
        across=given.across,
        outline=outline,
        made_outline=made,
        after=given.after or None,
        stations=places,
        who=session.name,
    )
    return _begun_view(begun, units)


@router.post("/api/jobs/{job}/readings/finish", responses=ERRORS, tags=["readings"])
def finish_readings(job: JobId, given: Finish, desk: DeskOf, session: SessionOf) -> Edited:
    """Make the survey of what was read: a new revision, and every figure that moved. The readings stay in their journal."""
    readings = readings_meant(desk, job, given.begun)
    before = desk.store.revision(job, given.based_on).files
    files = with_survey(before, readings)
    count = sum(taken.z is not None for taken in readings.taken.values())
    why = f"read again after {readings.after}" if readings.after else "read by hand"
    edited = desk.store.save(
        job, files, given.based_on, session.name, f"{why}: {count} heights", device=device(session)
    )
    journals(desk).put_aside(job, readings.begun)
    return edited


@router.post("/api/jobs/{job}/readings/aside", responses=ERRORS, tags=["readings"])
def put_readings_aside(job: JobId, given: Aside, desk: DeskOf) -> Kept:
    """Put the readings begun aside, so that others can be begun; nothing is thrown away."""
    readings = readings_meant(desk, job, given.begun)
    journals(desk).put_aside(job, readings.begun)
    read = sum(taken.z is not None for taken in readings.taken.values())
    return Kept(kept=[], refused=[], read=read, left=len(readings.wanted) - len(readings.taken))


job_page(router, "readings", ReadingsView, _view, script="readings.js")

PAGE = Page("readings", "Readings", router)
