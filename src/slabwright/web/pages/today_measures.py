"""What was made and is not measured yet: asked for after its step, wherever the maker stands, and put into the job's own file."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import Field

from slabwright.findings import SlabwrightError
from slabwright.quantities import format_length
from slabwright.shop.operations_results import WorkOperation
from slabwright.web import bench_log
from slabwright.web.desk import DeskOf, SessionOf, device
from slabwright.web.models import ERRORS, JobId, Model
from slabwright.web.shop_days import OneJob, ShopBoard

router = APIRouter(tags=["today"])
_SURFACED = ("surface", "surface with the sled")
_CUT = ("cut to length",)
_WELDED = ("weld", "grind")

Key = Literal["as_made.thickness", "as_made.length", "as_made.width", "base.leg_as_made", "base.plate_as_made"]


class MeasureField(Model):
    """One length to be measured."""

    key: Key
    words: str
    hint: str = Field(description="as planned")


class Measure(Model):
    """What is to be measured after a step that is done."""

    job: int
    title: str
    after: str = Field(description="the step that is done")
    fields: list[MeasureField]
    page: str = Field(description="address of the page that asks for more of it")


class Measured(Model):
    """What was measured, as it was typed."""

    values: dict[Key, Annotated[str, Field(min_length=1, max_length=40)]] = Field(
        min_length=1, examples=[{"as_made.thickness": "54.8"}]
    )


class MeasuredAnswer(Model):
    """What was written down."""

    job: int
    revision: int = Field(description="the newest now")


def measures(board: ShopBoard) -> list[Measure]:
    """What is done and not measured yet, of every job that is in work."""
    return [measure for one in board.jobs for measure in _of(one)]


def _of(one: OneJob) -> Iterable[Measure]:
    plan = one.plan
    if plan is None:
        return
    stated, units = plan.job.stated, plan.job.stated.job.units

    def length(mm: float | None) -> str:
        return "" if mm is None else format_length(mm, units)

    made, base = stated.as_made, stated.base
    after = _done(one.operations, _SURFACED)
    if after and (made is None or made.thickness is None):
        board = length(plan.board.thickness if plan.board is not None else None)
        yield Measure(
            job=one.id, title=one.name, after=after, page=f"/jobs/{one.id}/slab#made-title",
            fields=[MeasureField(key="as_made.thickness", words="Thickness of the board, least measured", hint=board)],
        )  # fmt: skip
    after = _done(one.operations, _CUT)
    top = plan.top
    if after and (made is None or made.length is None):
        fields = [
            MeasureField(key="as_made.length", words="Length of the top", hint=length(top.length if top else None))
        ]
        if made is None or made.width is None:
            wide = length(top.width if top else None)
            fields.append(MeasureField(key="as_made.width", words="Width of the top, at its widest", hint=wide))
        yield Measure(job=one.id, title=one.name, after=after, page=f"/jobs/{one.id}/slab#made-title", fields=fields)
    after = _done(one.operations, _WELDED)
    if after and plan.base is not None and (base is None or base.leg_as_made is None):
        stack = plan.base.stack
        fields = [
            MeasureField(
                key="base.leg_as_made",
                words="Leg: foot's seat to the plate's underside",
                hint=length(stack.leg if stack is not None else None),
            )
        ]
        if base is None or base.plate_as_made is None:
            thick = length(stack.plate if stack is not None else None)
            fields.append(MeasureField(key="base.plate_as_made", words="Plates, with their paint", hint=thick))
        yield Measure(job=one.id, title=one.name, after=after, page=f"/jobs/{one.id}/top#plates-title", fields=fields)


def _done(operations: Sequence[WorkOperation], kinds: tuple[str, ...]) -> str:
    """The last step of these kinds, where all of them are done; nothing where one is not, or there are none."""
    these = [one for one in operations if one.kind in kinds]
    return these[-1].name if these and all(one.state == "done" for one in these) else ""


@router.post("/api/jobs/{job}/as-made", responses=ERRORS)
def as_made(job: JobId, measured: Measured, desk: DeskOf, session: SessionOf) -> MeasuredAnswer:
    """Put down what was measured; it goes on top of whatever is newest."""
    values = {str(key): " ".join(typed.split()) for key, typed in measured.values.items()}
    if not all(values.values()):
        raise SlabwrightError("a length is wanted; leave out what was not measured")
    edited = bench_log.put_on_newest(
        desk.store, job, lambda _: values, session.name, "as made, measured", device(session)
    )
    assert edited is not None
    return MeasuredAnswer(job=job, revision=edited.revision)
