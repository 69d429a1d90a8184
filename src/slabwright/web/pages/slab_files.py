"""Readings and outlines that come as files: each is checked by what it holds, and named in the job file."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, File, Form, UploadFile

from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE
from slabwright.job.models import Slab
from slabwright.web.desk import DeskOf, SessionOf, device
from slabwright.web.models import ERRORS, GREATEST, Edited, JobId
from slabwright.web.security.uploads import LARGEST, checked_upload
from slabwright.web.store import changed

router = APIRouter()
_KINDS = {".csv", ".ply", ".stl", ".obj", ".txt"}
_OUTLINES = {".csv", ".dxf", ".svg", ".txt"}


@router.post("/api/jobs/{job}/slab/files", responses=ERRORS, tags=["slab"])
def put_slab_files(
    job: JobId,
    desk: DeskOf,
    session: SessionOf,
    based_on: Annotated[int, Form(ge=1, le=GREATEST, description="the revision that was looked at")],
    survey: Annotated[UploadFile | None, File(description="readings of both faces in one frame, or a scan")] = None,
    survey_a: Annotated[UploadFile | None, File(description="readings of face A, first set-up")] = None,
    survey_b: Annotated[UploadFile | None, File(description="readings of face B, second set-up")] = None,
    callipers: Annotated[UploadFile | None, File(description="thickness at places: ties two set-ups")] = None,
    outline: Annotated[UploadFile | None, File(description="outline of both faces")] = None,
    outline_a: Annotated[UploadFile | None, File(description="outline of face A")] = None,
    outline_b: Annotated[UploadFile | None, File(description="outline of face B")] = None,
    units: Annotated[
        Literal["", "mm", "cm", "m", "in", "ft"], Form(description="of the files; the job's own if left out")
    ] = "",
) -> Edited:
    """Take readings and outlines that come as files; each is checked by what it holds, and named in [slab]."""
    given = {
        "survey": survey,
        "survey_a": survey_a,
        "survey_b": survey_b,
        "callipers": callipers,
        "outline": outline,
        "outline_a": outline_a,
        "outline_b": outline_b,
    }
    sent = {key: one for key, one in given.items() if one is not None and (one.filename or one.size)}
    if not sent:
        raise SlabwrightError("no file was chosen; choose the readings, or an outline")
    plan = desk.store.planned(job, based_on).result
    slab = plan.job.stated.slab if plan is not None else None
    if slab is None:
        raise SlabwrightError("the job has no slab yet; state its species on the brief first")
    files = dict(desk.store.revision(job, based_on).files)
    values: dict[str, Any] = {}
    for key, one in sent.items():
        name = _taken_name(key, one)
        if name in values.values():
            raise SlabwrightError(f"two of the files are called {name[:60]!r}; rename one")
        files[name] = one.file.read(LARGEST + 1)
        checked_upload(name, files[name])
        values[f"slab.{key}"] = name
    values |= _given_up(slab, set(sent))
    if units:
        read = any(key.startswith(("survey", "callipers")) for key in sent)
        values["slab.survey_units" if read else "slab.outline_units"] = units
    files[JOB_FILE] = changed(files, JOB_FILE, values)
    why = f"{', '.join(str(values[f'slab.{key}']) for key in sent)} put in"
    return desk.store.save(job, files, based_on, session.name, why, device=device(session))


def _taken_name(key: str, one: UploadFile) -> str:
    """The name under which a file is kept: its own, without the folder, and never that of a file of another kind."""
    name = (one.filename or "").replace("\\", "/").rpartition("/")[2]
    ending = "." + name.rpartition(".")[2].lower() if "." in name else ""
    kinds = _OUTLINES if key.startswith("outline") else _KINDS
    if ending not in kinds:
        raise SlabwrightError(f"{key}: {name[:60]!r} is of no kind that is read here; send {', '.join(sorted(kinds))}")
    return name


def _given_up(slab: Slab, sent: set[str]) -> dict[str, None]:
    """Keys of [slab] that do not go with what was sent, and are taken away."""
    gone: set[str] = set()
    if "survey" in sent:
        gone |= {"survey_a", "survey_b", "callipers", "marks"}
    if "survey_a" in sent or "survey_b" in sent:
        gone |= {"survey"}
    if "outline" in sent:
        gone |= {"outline_a", "outline_b"}
    if "outline_a" in sent or "outline_b" in sent:
        gone |= {"outline"}
    return {f"slab.{key}": None for key in sorted(gone - sent) if getattr(slab, key)}
