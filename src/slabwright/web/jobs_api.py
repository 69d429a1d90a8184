"""What is done to a job whatever page it is done from: edits, files, photos, the log, and who else looks at it."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, File, Form, Query, UploadFile
from fastapi import Path as InPath
from fastapi.responses import Response, StreamingResponse
from pydantic import Field

from slabwright.findings import SlabwrightError
from slabwright.web.desk import DeskOf, SessionOf, device
from slabwright.web.editions import edition_of
from slabwright.web.models import ERRORS, GREATEST, Edit, Edited, JobId, Model, Movement
from slabwright.web.security.gate import DRAWING_POLICY
from slabwright.web.security.uploads import LARGEST, checked_upload
from slabwright.web.store import NotThere, changed

router = APIRouter(responses=ERRORS)


class Newest(Model):
    """The newest revision of a job."""

    job: int
    revision: int
    who: str
    when: datetime


class PhotoView(Model):
    """A photo of the work."""

    id: int
    name: str
    width: int = Field(description="pixels")
    height: int = Field(description="pixels")
    who: str
    when: datetime
    note: str


@router.post("/api/jobs/{job}/edits", tags=["changes"], response_model=Edited)
def edit(job: JobId, edit: Edit, desk: DeskOf, session: SessionOf) -> Response:
    """Change named keys of the job's or the shop's file: a new revision, and every figure that moved."""
    edited = desk.store.edit(
        job, edit.based_on, edit.values, session.name, edit.why, file=edit.file, device=device(session)
    )
    # Checked when it was made; hundreds of figures are not checked again on their way out.
    return Response(edited.model_dump_json(), media_type="application/json")


@router.get("/api/jobs/{job}/moved", tags=["changes"])
def moved(
    job: JobId,
    desk: DeskOf,
    since: Annotated[int, Query(ge=1, le=GREATEST, description="a revision that was seen")],
    to: Annotated[int | None, Query(ge=1, le=GREATEST, description="the newest if left out")] = None,
) -> Movement:
    """Every figure that moved since a revision, old and new."""
    return desk.store.movement(job, since, desk.store.revision(job, to).number)


@router.post("/api/jobs/{job}/files", tags=["changes"])
def put_files(
    job: JobId,
    desk: DeskOf,
    session: SessionOf,
    based_on: Annotated[int, Form(ge=1, le=GREATEST, description="the revision that was looked at")],
    files: Annotated[
        list[UploadFile], File(description="surveys, outlines, pictures; each takes the place of its name")
    ],
    key: Annotated[
        Literal["", "survey", "survey_a", "survey_b", "callipers", "outline", "outline_a", "outline_b"],
        Form(description="the key of [slab] that shall name the first file, if any"),
    ] = "",
) -> Edited:
    """Put files into the job's folder, and name one of them in [slab] where a key is given."""
    whole = dict(desk.store.revision(job, based_on).files)
    names = []
    for sent in files:
        data = sent.file.read(LARGEST + 1)
        name = checked_upload((sent.filename or "").replace("\\", "/").rpartition("/")[2], data)
        if name in ("job.toml", "shop.toml"):
            raise SlabwrightError(f"{name} is the job's own; import it as a job, or change its keys")
        whole[name] = data
        names.append(name)
    if key:
        whole["job.toml"] = changed(whole, "job.toml", {f"slab.{key}": names[0]})
    return desk.store.save(job, whole, based_on, session.name, f"{', '.join(names[:4])} put in", device=device(session))


@router.get("/api/jobs/{job}/photos", tags=["photos"])
def photos(job: JobId, desk: DeskOf) -> list[PhotoView]:
    """Photos of the work, oldest first."""
    desk.store.row(job)
    return [
        PhotoView(id=p.id, name=p.name, width=p.width, height=p.height, who=p.who, when=p.when, note=p.note)
        for p in desk.store.book.photos(job)
    ]


@router.post("/api/jobs/{job}/photos", tags=["photos"])
def add_photo(
    job: JobId,
    desk: DeskOf,
    session: SessionOf,
    photo: Annotated[UploadFile, File(description="JPEG, PNG or WebP; what the camera wrote into it is not kept")],
    note: Annotated[str, Form(max_length=300)] = "",
) -> PhotoView:
    """Keep a photo of the work."""
    desk.store.row(job)
    data = photo.file.read(LARGEST + 1)
    name = (photo.filename or "photo").replace("\\", "/").rpartition("/")[2][:100] or "photo"
    p = desk.store.book.add_photo(job, name, data, session.name, note)
    return PhotoView(id=p.id, name=p.name, width=p.width, height=p.height, who=p.who, when=p.when, note=p.note)


_PICTURE: dict[int | str, dict[str, Any]] = {200: {"content": {"image/jpeg": {}}, "description": "the picture"}}


@router.get(
    "/api/jobs/{job}/photos/{photo}", tags=["photos"], response_class=Response, responses={**ERRORS, **_PICTURE}
)
def photo_of(job: JobId, photo: JobId, desk: DeskOf) -> Response:
    """A photo's picture."""
    desk.store.row(job)
    if photo not in {row.id for row in desk.store.book.photos(job)}:
        raise NotThere(f"job {job} has no photo {photo}")
    return Response(desk.store.book.photo(photo).data, media_type="image/jpeg")


class DrawingView(Model):
    """A drawing that the plan has."""

    name: str
    title: str
    address: str


@router.get("/api/jobs/{job}/drawings", tags=["drawings"])
def drawings(job: JobId, desk: DeskOf) -> list[DrawingView]:
    """The drawings that the newest revision's plan has."""
    now = desk.store.now(job)
    return [
        DrawingView(name=one.name, title=one.title, address=f"/api/jobs/{job}/drawings/{one.name}")
        for one in desk.drawer.there(now.planned)
    ]


_DRAWING: dict[int | str, dict[str, Any]] = {200: {"content": {"image/svg+xml": {}}, "description": "the drawing"}}


@router.get(
    "/api/jobs/{job}/drawings/{name}", tags=["drawings"], response_class=Response, responses={**ERRORS, **_DRAWING}
)
def drawing_of(
    job: JobId,
    name: Annotated[str, InPath(max_length=60)],
    desk: DeskOf,
    revision: Annotated[int | None, Query(ge=1, le=GREATEST, description="the newest if left out")] = None,
) -> Response:
    """A drawing as SVG."""
    shown = desk.store.revision(job, revision)
    drawn = desk.drawer.draw(desk.store.planned(job, shown.number), edition_of(shown), name)
    if drawn is None:
        raise NotThere(f"the plan of job {job} has no such drawing")
    return Response(drawn, media_type="image/svg+xml", headers={"content-security-policy": DRAWING_POLICY})


@router.get("/api/jobs/{job}/newest", tags=["live"])
def newest(job: JobId, desk: DeskOf) -> Newest:
    """The newest revision, for who cannot listen."""
    row = desk.store.row(job)
    return Newest(job=job, revision=row.revision, who=row.who, when=row.when)


_EVENTS: dict[int | str, dict[str, Any]] = {
    200: {"content": {"text/event-stream": {}}, "description": "events named revision, without end"}
}


@router.get("/api/jobs/{job}/events", tags=["live"], response_class=StreamingResponse, responses={**ERRORS, **_EVENTS})
async def events(
    job: JobId,
    desk: DeskOf,
    since: Annotated[int, Query(ge=0, le=GREATEST, description="the revision that is shown")] = 0,
) -> StreamingResponse:
    """Server-sent events: each revision that another device saves."""
    import asyncio

    await asyncio.to_thread(desk.store.newest, job)
    stream = desk.store.live.stream(job, since, lambda: desk.store.newest(job))
    return StreamingResponse(stream, media_type="text/event-stream", headers={"x-accel-buffering": "no"})
