"""An invented plan with every part filled in, for trying the sheets without the stages."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal, TypeVar

import numpy as np
from shapely import LineString, Point, Polygon, affinity

from slabwright.findings import Finding
from slabwright.geometry.faces import Grid
from slabwright.geometry.planes import PlanePair
from slabwright.job.loaded import Job
from slabwright.job.models import JobFile, ShopFile
from slabwright.plan import Plan, Waiting
from slabwright.slab.board import Board
from slabwright.slab.moisture import MoistureGate
from slabwright.slab.passes import Pass, Procedure
from slabwright.slab.patch import FrontPoint, Patch
from slabwright.slab.region import DefectPlace
from slabwright.slab.results import SlabPlan
from slabwright.slab.seat import Contact, Seat, Term
from slabwright.slab.shim_results import ShimPlan, Stack
from slabwright.slab.stock import StockMap
from slabwright.slab.survey import Survey
from slabwright.slab.ways import Way

LENGTH, WIDTH = 2400.0, 950.0
_LETTERS = "CDEFGHJKLMNPQRSTUVWXYZ"
T = TypeVar("T")


def invented(kind: type[T], **known: object) -> T:
    """A result with the named fields as given and every other one empty: 0, no words, nothing."""
    empty = {"float": 0.0, "int": 0, "bool": False, "str": ""}
    for each in dataclasses.fields(kind):  # type: ignore[arg-type]
        if each.name not in known and each.default is dataclasses.MISSING:
            annotation = str(each.type)
            known[each.name] = () if annotation.startswith("tuple") else empty.get(annotation)
    return kind(**known)


def outline() -> Polygon:
    x = np.linspace(0.0, LENGTH, 60)
    low = 20.0 * np.sin(x / 310.0) + 12.0 * np.sin(x / 97.0 + 1.0)
    high = WIDTH + 25.0 * np.sin(x / 420.0 + 2.0) + 8.0 * np.sin(x / 120.0)
    return Polygon([*zip(x, low, strict=True), *zip(x[::-1], high[::-1], strict=True)])


def stock(seed: int, dip: bool) -> StockMap:
    x, y = np.arange(0.0, LENGTH + 1, 25.0), np.arange(-50.0, WIDTH + 51, 25.0)
    X, Y = np.meshgrid(x, y, indexing="ij")
    u, v = X / LENGTH - 0.5, Y / WIDTH - 0.5
    rng = np.random.default_rng(seed)
    depth = (
        4.5
        + 9.0 * v * v * (1 if seed == 1 else -0.6)
        + 6.0 * u * v
        + 1.5 * np.sin(6.0 * u)
        + rng.normal(0, 0.1, X.shape)
    )
    if dip:
        depth -= 8.0 * np.exp(-(((X - 2050.0) / 150.0) ** 2) - ((Y - 420.0) / 110.0) ** 2)
    body = outline().buffer(-2.0)
    inside = np.array([[body.contains(Point(a, b)) for b in y] for a in x])
    return StockMap(x, y, np.where(inside, depth - (0.0 if dip else 0.3), np.nan))


def readings(name: StockMap, planes: PlanePair, face: str) -> Grid:
    """Readings that a map of the wood above a finished plane may have come from: every second cell, none near the ends."""
    x, y = name.x[4:-4:2], name.y[::2]
    X, Y = np.meshgrid(x, y, indexing="ij")
    depth = name.depth[4:-4:2, ::2] * planes.slant
    return Grid(x, y, planes.upper(X, Y) + depth if face == "A" else planes.lower(X, Y) - depth)


def passes(face: str, name: StockMap, first: int) -> list[Pass]:
    depth, out, level = np.nan_to_num(name.depth, nan=-1.0), [], float(np.nanmax(name.depth))
    levels = [each for each in (6.8, 4.8, 2.0, 0.8, 0.0) if each < level]
    for number, to in enumerate(levels, start=first):
        taken = np.clip(depth - to, 0.0, level - to)
        left = np.clip(np.minimum(depth, to), 0.0, None)
        out.append(
            invented(
                Pass,
                face=face,
                number=number,
                stage="rough" if to >= 2.0 else "skim",
                level=to,
                depth=level - to,
                area=float((taken > 0).sum() * 625.0),
                volume=float(taken.sum() * 625.0),
                left_area=float((left > 0).sum() * 625.0),
                left_volume=float(left.sum() * 625.0),
                last=to == 0.0,
            )
        )
        level = to
    return out


def stacks(along: int, across: int, kinds: int = 3, turn: float = 1.0) -> tuple[Stack, ...]:
    kit = (10.0, 5.0, 2.0, 1.0, 0.5, 0.25)
    out = []
    for i in range(along):
        for j in range(across):
            n = i * across + j
            pieces = tuple(sorted((kit[(n + k) % 6] for k in range(min(kinds, 1 + n % kinds + 1))), reverse=True))
            height = sum(pieces)
            carries = n in (0, along * across - 1, along * across // 2)
            out.append(
                invented(
                    Stack,
                    name=_LETTERS[n % 21] + (str(n // 21 + 1) if n >= 21 else ""),
                    x=150.0 + (LENGTH - 300.0) * i / (along - 1),
                    y=130.0 + (WIDTH - 260.0) * j / (across - 1),
                    bed_x=150.0 + (LENGTH - 300.0) * i / (along - 1),
                    bed_y=turn * (130.0 + (WIDTH - 260.0) * j / (across - 1)),
                    read=n != 1,
                    on_wood=True,
                    gap=height + (0.0 if carries else 0.37),
                    gap_error=1.1,
                    height=height,
                    pieces=pieces,
                    carries=carries,
                    wedge=0.0 if carries else 0.37,
                    loss_too_high=0.031 + 0.01 * n if carries else 0.0,
                    loss_too_low=0.052 + 0.01 * n if carries else 0.0,
                )
            )
    return tuple(out)


def job(checks: Sequence[Mapping[str, object]] = (), **changes: object) -> Job:
    """A job: `units`, `title` and what else `[job]` holds."""
    head = {"title": "Reading table", "client": "Village library (invented)", "date": "2031-03-14", "revision": "3"}
    stated = {
        "job": head | changes,
        "piece": {"length": "2300 mm", "width": "880 mm", "height": "740 mm"},
        "slab": {"species": "ash, white"},
        "checks": list(checks),
    }
    context = {"units": changes.get("units", "metric")}
    return Job(stated=JobFile.model_validate(stated, context=context), shop=ShopFile())


def slab_plan(
    along: int = 4, across: int = 2, fill: bool = True, kinds: int = 3, first_face: Literal["A", "B"] = "A"
) -> SlabPlan:
    body = outline()
    region = affinity.scale(body.buffer(-12.0), 0.97, 1.0)
    a, b = stock(1, dip=True), stock(2, dip=False)
    target = 43.0 if fill else 41.2
    # The cutter leaves 0.8 mm for sanding on each face.
    planes = PlanePair(0.004, -0.006, 52.0, 52.0 - (target + 1.6) * float(np.sqrt(1 + 0.004**2 + 0.006**2)))
    grid_a, grid_b = readings(a, planes, "A"), readings(b, planes, "B")
    survey = invented(
        Survey,
        readings_a=1843, readings_b=1843, clean_a=1711, clean_b=1708, length=2340.0, width=912.0, area=region.area,
        spacing=35.0, unread_border=22.0, thickness_least=48.7, thickness_most=57.9, sag=0.62, tie=None,
        face_a=grid_a, face_b=grid_b, all_a=grid_a, all_b=grid_b, outline_a=body, outline_b=body.buffer(-4.0),
        region_a=region, region_b=region, outline_given=True,
        defects_a=(DefectPlace("knot", Point(700.0, 300.0).buffer(22.5), 12.0, False, ""),
                   DefectPlace("check", LineString([(0.0, 500.0), (260.0, 520.0)]).buffer(3.0), None, True, "")),
    )  # fmt: skip
    terms = (
        Term("between readings", 0.9, 0.6, "readings"),
        Term("marks and sanding", 1.6, 1.6, "default"),
        Term("tie", 0.0, 0.0, "readings"),
        Term("shims", 0.4, 0.3, "shop file"),
        Term("z zero", 0.3, 0.1, "default"),
    )
    seat = invented(
        Seat,
        thickness=44.4, bound=44.4, thickness_low=41.2, thickness_even=41.8, tilt_x=-0.34, tilt_y=0.23, target=target,
        thickness_low_filled=44.3 if fill else 41.2, milled=target + 1.6,
        cut_a=float(np.nanmax(a.depth)), cut_b=float(np.nanmax(b.depth)), terms=terms,
        contacts=(
            Contact("A", 2050.0, 420.0, 48.9), Contact("A", 220.0, 610.0, 52.1), Contact("B", 1210.0, 90.0, 8.2),
            Contact("B", 640.0, 820.0, 7.4),
        ),
        lie=planes, planes=planes,
    )  # fmt: skip
    front = tuple(
        invented(
            FrontPoint,
            fill_area=9.0e4 * k,
            fill_volume=1.2e5 * k**1.5,
            thickness=44.4 + 4.4 * (1 - np.exp(-k / 3.0)),
            bound=44.41 + 4.4 * (1 - np.exp(-k / 3.0)),
            deepest=1.7 * k,
            price_area=1e6 / max(k, 1),
            skip_volume=0.0,
            planes=planes,
        )
        for k in range(10)
    )
    patches = (
        invented(
            Patch,
            name="A", x=2050.0, y=420.0, area=74000.0, volume=365000.0, missing=310000.0, depth=6.9, meets_edge=False,
            hole=False, pours=1, resin=0.46, outline=Point(2050, 420).buffer(150.0),
        ),
        invented(
            Patch,
            name="B", x=2330.0, y=700.0, area=21000.0, volume=88000.0, missing=80000.0, depth=24.0, meets_edge=True,
            hole=False, pours=2, resin=0.11, outline=Point(2360, 700).buffer(80.0).intersection(body),
        ),
    )  # fmt: skip
    ways = (
        Way("as it is", 44.4, 41.2, 0.0, 2340.0, 0.0, 0.0, 0.0, 0.0, True, "", ""),
        Way("other face up", 44.4, 41.0, -0.2, 2340.0, 0.0, 0.0, 0.0, 0.0, True, "", "the dip goes underneath"),
        Way("shorten", 46.1, 42.9, 1.7, 2080.0, 0.0, 0.0, 0.0, 0.0, False, "too short", "220 mm shorter than asked for"),
        Way("let in wood", 47.3, 44.1, 2.9, 2340.0, 0.0, 74000.0, 45.0, 1.0, True, "", "one piece, grain along"),
        Way("fill", 47.6, 44.4, 3.2, 2340.0, 453000.0, 95000.0, 61.5, 3.5, True, "", "wants the client's sign-off"),
    )  # fmt: skip
    standing = stacks(along, across, kinds, 1.0 if first_face == "A" else -1.0)
    return invented(
        SlabPlan,
        survey=survey,
        moisture=invented(MoistureGate, verdict="caution", shell=9.4, core=11.2, target=8.6,
            target_low=6.9, target_high=10.3, excess=2.6,
            wait_low=20.0, wait_high=45.0),
        seat=seat,
        show_face="A",
        first_face=first_face,
        patch_front=front,
        chosen_fill=3 if fill else 0,
        patches=patches if fill else (),
        ways=ways if fill else ways[:2],
        shims=invented(
            ShimPlan, stacks=standing, loss=0.18, bound=0.15, loss_error=0.07, sag=0.21, tip_margin=35.0, raised=3.0,
            standing_tilt_x=0.01, standing_tilt_y=-0.02, down_face="B" if first_face == "A" else "A", weight=640.0,
            tip_margin_wedged=120.0, standing=np.array([0.0, 0.0, 10.0 if first_face == "A" else 70.0]),
        ),
        passes=(*passes("A", a, 1), *passes("B", b, 1)),
        procedures=(
            Procedure("one go", 38.7, 2.5, 2.0, False, ("Cut face A", "Turn over", "Cut face B to thickness")),
            Procedure("rough, rest, skim", 41.2, 0.4, 12.0, True,
                      ("Rough face A", "Rough face B", "Rest 10 days", "Read again", "Skim face A", "Skim face B")),
        ),
        stock_a=a,
        stock_b=b,
    )  # fmt: skip


def plan(
    *,
    along: int = 4,
    across: int = 2,
    fill: bool = True,
    kinds: int = 3,
    stop: bool = False,
    board: Board | None = None,
    checks: Sequence[Mapping[str, object]] = (),
    first_face: Literal["A", "B"] = "A",
    **head: object,
) -> Plan:
    """An invented plan.

    Args:
        along: rows of stacks
        across: stacks in a row
        fill: whether a fill is chosen
        kinds: most kinds of shim in a stack
        stop: whether a check stops the work
        board: what is known of the board
        checks: what `[[checks]]` holds
        first_face: the face that is cut first
        head: what `[job]` holds
    """
    findings = [
        Finding("slab/moisture", "caution", "The core reads 11.2 %, 2.6 % above what the room asks for.",
                "Wait 20 to 45 days and read again."),
        Finding("slab/default-allowance", "note", "0.8 mm a face for marks and sanding is a default.",
                "State [allowance] marks_and_sanding in the shop file."),
    ]  # fmt: skip
    slab = slab_plan(along, across, fill, kinds, first_face)
    if stop:
        findings.insert(0, Finding("slab/no-blank", "stop", "The readings leave no flat board of 50 mm: 44.4 mm is the most.",
                                   "Ask for 41 mm, or shorten the flat to 2080 mm: 42.9 mm."))  # fmt: skip
        slab = replace(slab, moisture=replace(slab.moisture, verdict="stop"), shims=None)
    return invented(
        Plan,
        board=board,
        slab=slab,
        waiting=(Waiting("room", "the room's winter humidity"),),
        findings=tuple(findings),
        job=job(checks, **head),
    )
