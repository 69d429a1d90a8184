"""The slab: both faces over the planes that are cut, the ways out of a dip, how much fill, the depths, the bed, what came out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal

from fastapi import APIRouter, File, Form, UploadFile
from pydantic import Field

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import FaceName
from slabwright.job.folder import JOB_FILE
from slabwright.job.models import Slab
from slabwright.quantities import INCH, format_length
from slabwright.sheets.colours import ramp
from slabwright.sheets.context import Context
from slabwright.sheets.stack_card import kinds_of
from slabwright.slab.stock import StockMap
from slabwright.web.desk import Desk, DeskOf, SessionOf, device
from slabwright.web.figures import figures, problems
from slabwright.web.models import ERRORS, GREATEST, Edited, Figure, JobId, JobView, Model
from slabwright.web.page import Page, Standing, job_page
from slabwright.web.pages.readings import journals
from slabwright.web.pages.slab_pictures import bed_picture, stack_picture
from slabwright.web.pages.slab_ways import FillView, WayView, fill_views, way_views
from slabwright.web.security.uploads import LARGEST, checked_upload
from slabwright.web.store import NotThere, Now, changed

if TYPE_CHECKING:
    from slabwright.plan import Plan

router = APIRouter()

_FIGURES = {
    "slab.seat.thickness_low_filled": "Board that is sure, with the chosen fill",
    "slab.seat.thickness": "Board of the readings as they are",
    "slab.seat.bound": "No lie gives more than",
    "slab.seat.thickness_low": "Sure 19 times in 20, nothing filled",
    "slab.seat.thickness_even": "Even chance, nothing filled",
    "slab.seat.target": "Finished board that is planned for",
    "slab.seat.milled": "As the cutter leaves it",
    "board.thickness": "What later work is planned with",
    "slab.seat.cut_a": "Most that comes off face A",
    "slab.seat.cut_b": "Most that comes off face B",
    "slab.seat.cut_tilt_x": "Tilt across",
    "slab.seat.cut_tilt_y": "Tilt along the grain",
    "slab.shims.loss": "What the steps of the stacks cost",
    "slab.survey.spacing": "Readings lie apart",
    "slab.survey.sag": "Sag that was taken out",
    "slab.moisture.verdict": "Dry enough?",
}
_ACROSS = 90
"""Points of the picture in space along either axis, at the most."""
_KINDS = {".csv", ".ply", ".stl", ".obj", ".txt"}
_OUTLINES = {".csv", ".dxf", ".svg", ".txt"}


class DepthView(Model):
    """One depth of a face, and the wood that is left after it."""

    number: int = Field(description="in the order of the work")
    face: FaceName
    stage: str
    level: str = Field(description="of the cutter above the finished plane")
    above_bed: str = Field(description="of the cutter above the bed; nothing where it is not known")
    deep: str
    takes: str
    leaves: str
    drawing: str = Field(description="address of its map")
    path: str = Field(description="of its depth, in plan.json")


class PieceView(Model):
    """Pieces of one thickness in a stack."""

    thickness: str
    count: int


class StackView(Model):
    """A stack of shims."""

    name: str
    height: str
    place: str
    carries: bool
    wedge: str = Field(description="what is left to wedge; nothing where it carries")
    pieces: list[PieceView] = Field(description="thickest first")
    picture: str = Field(description="SVG: from the side")
    path: str = Field(description="of its height, in plan.json")


class CheckView(Model):
    """What was found while working."""

    number: int = Field(description="as checks[number] in the job file")
    words: str


class SlabView(JobView):
    """From the readings to the flat board."""

    stated: bool = Field(description="whether the job has a slab")
    read: bool = Field(description="whether it was read")
    planned: bool = Field(description="whether a board came out")
    reading: str = Field(description="readings that are being taken, or nothing")
    wanted: str = Field(description="thickness that is asked for")
    unit: str
    figures: list[Figure]
    faces: list[str] = Field(description="addresses of the maps of the faces, the first to be cut first")
    ways: list[WayView]
    fills: list[FillView]
    volume_unit: str
    depths: list[DepthView]
    depths_key: str = Field(description="address of what the colours mean; nothing where there are no depths")
    bed: str = Field(description="SVG: the slab on its stacks")
    bed_words: str
    stacks: list[StackView]
    checks: list[CheckView]
    as_made: dict[str, str] = Field(description="what came out, by key, as it is typed")
    fill: dict[str, str] = Field(description="prices and consent, by key, as they are typed")


class Sheet3D(Model):
    """A face as a grid of heights."""

    x: list[float]
    y: list[float]
    height: list[list[float | None]] = Field(description="rows along y; above the lower finished plane")
    above: list[list[float | None]] = Field(description="rows along y; wood above the finished plane of its face")


class ShapeView(Model):
    """The slab in space, in the frame of the lie; lengths in the job's unit."""

    unit: str
    thickness: float = Field(description="of the board as cut: the distance of the two finished planes")
    a: Sheet3D
    b: Sheet3D
    deciding: list[tuple[float, float, float]] = Field(description="readings that carry the lie: x, y, height")
    ramp: list[str] = Field(description="colours from nothing to the most that comes off")
    most: float = Field(description="the most that comes off a face")


def _depths(plan: Plan, context: Context, job: int, revision: int) -> list[DepthView]:
    words = context.words
    of = {"A": 0, "B": 0}
    found = []
    clampings = plan.machine.clampings if plan.machine is not None else ()
    known = {(each.face, each.stage): each.plane for each in reversed(clampings)}
    for index, each in enumerate(context.slab.passes):
        of[each.face] += 1
        at = (each.face, each.stage)
        plane = known[at] if at in known else context.above_bed(*at)
        stage = {"rough": "rough", "skim": "skim", "only": "one go"}[each.stage]
        left = "nothing left"
        if each.left_volume > 0.0:
            left = f"leaves {words.chips(each.left_volume)} on {words.area(each.left_area)}"
        found.append(
            DepthView(
                number=each.number,
                face=each.face,
                stage=f"{stage}, thin last" if each.last else stage,
                level=words.signed(each.level),
                above_bed="" if plane is None else words.fine(plane + each.level),
                deep=words.fine(each.depth),
                takes=f"takes {words.chips(each.volume)} on {words.area(each.area)}",
                leaves=left,
                drawing=f"/api/jobs/{job}/drawings/slab-left-{each.face.lower()}-{of[each.face]}?revision={revision}",
                path=f"slab.passes[{index}].level",
            )
        )
    return found


def _stacks(context: Context) -> list[StackView]:
    words, shims = context.words, context.slab.shims
    stacks = shims.stacks if shims is not None else ()
    most = max((stack.height for stack in stacks), default=1.0)
    found = []
    for index, stack in enumerate(stacks):
        x, y = context.place(stack)
        found.append(
            StackView(
                name=stack.name,
                height=f"{words.shim(stack.height)} {words.unit}",
                place=f"x {words.place(x)}, y {words.place(y)}",
                carries=stack.carries,
                wedge="" if stack.carries else words.finer(stack.wedge),
                pieces=[PieceView(thickness=words.shim(thick), count=count) for thick, count in kinds_of(stack)],
                picture=stack_picture(stack, most),
                path=f"slab.shims.stacks[{index}].height",
            )
        )
    return found


def _checks(now: Now) -> list[CheckView]:
    assert now.planned.result is not None
    stated = now.planned.result.job.stated
    units = stated.job.units
    found = []
    for number, check in enumerate(stated.checks):
        at = "" if check.at is None else " at " + ", ".join(format_length(value, units) for value in check.at)
        when = f", {check.date}" if check.date else ""
        found.append(
            CheckView(
                number=number,
                words=f"Face {check.face} after its {check.after}: {check.kind} {format_length(check.value, units)}{at}{when}",
            )
        )
    return found


def _typed(value: float | None, plan: Plan) -> str:
    return "" if value is None else format_length(value, plan.job.stated.job.units)


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _view(desk: Desk, now: Now) -> SlabView:
    head = desk.head(now)
    plan = now.planned.result
    if plan is None:
        return SlabView.model_validate(_EMPTY | {"head": head})
    stated = plan.job.stated
    begun = journals(desk).read(now.row.id)
    made, fill = stated.as_made, stated.fill
    view: dict[str, Any] = _EMPTY | {
        "head": head,
        "problems": problems(now.planned, ("slab",)),
        "stated": stated.slab is not None,
        "read": plan.job.readings is not None,
        "planned": plan.slab is not None,
        "reading": f"{len(begun.taken)} of {len(begun.wanted)} places" if begun else "",
        "wanted": "the most the slab gives"
        if stated.piece.thickness == "max"
        else format_length(stated.piece.thickness, stated.job.units),
        "unit": "mm" if stated.job.units == "metric" else "in",
        "figures": figures(now.planned, _FIGURES),
        "checks": _checks(now),
        "as_made": {
            f"as_made.{key}": _typed(getattr(made, key) if made else None, plan)
            for key in ("thickness", "length", "width")
        },
        "fill": {
            "fill.price_per_litre": _plain(fill.price_per_litre),
            "fill.price_per_visible_area": _plain(fill.price_per_visible_area),
            "fill.underside_price_per_litre": _plain(fill.underside_price_per_litre),
            "fill.choose": "" if fill.choose is None else str(fill.choose),
            "fill.client_agrees": "" if fill.client_agrees is None else "yes" if fill.client_agrees else "no",
        },
    }
    if plan.slab is not None:
        context = Context(plan)
        job, revision = now.row.id, now.revision.number
        depths = _depths(plan, context, job, revision)
        bed, bed_words = bed_picture(plan) if plan.slab.shims is not None else ("", "")
        view |= {
            "faces": [
                f"/api/jobs/{job}/drawings/slab-face-{face.lower()}?revision={revision}" for face in context.faces
            ],
            "ways": way_views(plan, plan.slab, context.words),
            "fills": fill_views(plan, plan.slab, context.words),
            "volume_unit": context.words.volume_unit,
            "depths": depths,
            "depths_key": f"/api/jobs/{job}/drawings/slab-scale?revision={revision}" if depths else "",
            "bed": bed,
            "bed_words": bed_words,
            "stacks": _stacks(context),
        }
    return SlabView.model_validate(view)


_EMPTY: dict[str, Any] = {
    "problems": [],
    "stated": False,
    "read": False,
    "planned": False,
    "reading": "",
    "wanted": "",
    "unit": "mm",
    "figures": [],
    "faces": [],
    "ways": [],
    "fills": [],
    "volume_unit": "litres",
    "depths": [],
    "depths_key": "",
    "bed": "",
    "bed_words": "",
    "stacks": [],
    "checks": [],
    "as_made": {},
    "fill": {},
}


def _sheet(stock: StockMap, unit: float, plane: float, up: float) -> Sheet3D:
    import numpy as np

    i, j = (max(1, -(-axis.size // _ACROSS)) for axis in (stock.x, stock.y))
    depth = stock.depth[::i, ::j].T / unit

    def rows(grid: Any) -> list[list[float | None]]:
        return [[None if np.isnan(value) else round(float(value), 4) for value in row] for row in grid]

    return Sheet3D(
        x=[round(float(v) / unit, 3) for v in stock.x[::i]],
        y=[round(float(v) / unit, 3) for v in stock.y[::j]],
        height=rows(plane / unit + up * depth),
        above=rows(depth),
    )


@router.get("/api/jobs/{job}/slab/shape", responses=ERRORS, tags=["slab"])
def shape(job: JobId, desk: DeskOf) -> ShapeView:
    """Both faces over the planes that are cut, for a picture in space."""
    import numpy as np

    plan = desk.store.now(job).planned.result
    slab = plan.slab if plan is not None else None
    if plan is None or slab is None:
        raise NotThere(f"job {job} has no board yet: read the slab first")
    metric = plan.job.stated.job.units == "metric"
    unit, planes = 1.0 if metric else INCH, slab.seat.planes
    turn = planes.rotation()
    contacts = [turn @ np.array([one.x, one.y, one.z]) for one in slab.seat.contacts]
    low = planes.d / planes.slant
    most = max(float(np.nanmax(stock.depth, initial=0.0)) for stock in (slab.stock_a, slab.stock_b))
    return ShapeView(
        unit="mm" if metric else "in",
        thickness=round(planes.thickness / unit, 4),
        a=_sheet(slab.stock_a, unit, planes.thickness, 1.0),
        b=_sheet(slab.stock_b, unit, 0.0, -1.0),
        deciding=[
            (round(float(x) / unit, 3), round(float(y) / unit, 3), round((float(z) - low) / unit, 4))
            for x, y, z in contacts
        ],
        ramp=ramp(9),
        most=round(most / unit, 4),
    )


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


def _standing(now: Now) -> Standing:
    plan = now.planned.result
    if plan is None:
        return Standing("waiting", "waits for a job that can be used")
    stated = plan.job.stated
    if stated.slab is None:
        return Standing("waiting", "waits for the wood")
    if plan.slab is None:
        return Standing("ready", "to be read") if plan.job.readings is None else Standing("decide", "no board yet")
    board, words = plan.board, Context(plan).words
    if board is not None and board.basis == "as made":
        return Standing("done", f"made: {words.fine(board.thickness)}")
    sure = words.least(plan.slab.seat.thickness_low_filled)
    stops = any(one.severity == "stop" and one.code.startswith("slab/") for one in plan.findings)
    return Standing("decide" if stops else "done", f"sure: {sure}")


job_page(router, "slab", SlabView, _view, script="slab.js")

PAGE = Page("slab", "Slab", router, _standing)
