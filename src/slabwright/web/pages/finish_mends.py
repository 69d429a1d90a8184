"""How each defect is mended, as options side by side, and the mending plan to look at."""

from __future__ import annotations

from typing import Any

from pydantic import Field

from slabwright.finish.mending_results import Mended, MendOption
from slabwright.job.mend_models import MendKind
from slabwright.plan import Plan
from slabwright.sheets.context import Context
from slabwright.sheets.words import Words
from slabwright.web.drawings import Drawing, add_drawing
from slabwright.web.models import Model

_FACES = {"both": "both faces", "show": "show face", "underside": "underside"}
_FOOT = 14.0


class MendChoice(Model):
    """One way of mending a defect with what it costs."""

    kind: MendKind
    title: str
    fits: bool
    reason: str = Field(description="why it does not fit; nothing where it does")
    money: str
    hours: str
    days: str = Field(description="of waiting")
    board: str = Field(description="thickness or length that it costs")
    epoxy: str = Field(description="that it takes, or nothing")
    note: str
    taken: bool
    recommended: bool
    values: dict[str, Any] = Field(description="keys that take it; none where it is taken or does not fit")


class MendView(Model):
    """One defect that stays in the top."""

    name: str = Field(description="D and its number, as on the plan")
    number: int
    kind: str
    said: str = Field(description="where it is seen, how large, how deep")
    stated: bool = Field(description="whether the job states how it is mended")
    path: str = Field(description="of the choice, in plan.json")
    note: str
    choices: list[MendChoice]
    free: dict[str, Any] = Field(description="keys that leave it to what is recommended; none where it is")


def mend_views(plan: Plan, words: Words) -> list[MendView]:
    """Every defect that stays in the top."""
    if plan.finish is None:
        return []
    return [_view(plan, mend, place, words) for place, mend in enumerate(plan.finish.mending.mends)]


def _view(plan: Plan, mend: Mended, place: int, words: Words) -> MendView:
    stated = plan.job.stated.mends
    number = next((k for k, one in enumerate(stated) if one.defect == mend.number), None)
    shown = [
        one
        for one in mend.options
        if one.fits or one.kind == mend.chosen or not (one.kind in ("key", "key and fill") and mend.kind != "check")
    ]
    long, wide = (words.place(size) if size >= 10.0 else words.fine(size) for size in (mend.length, mend.width))
    depth = "through" if mend.through else f"{words.fine(mend.depth)} deep"
    said = f"{_FACES[mend.side]}, {long} × {wide}, {depth}, {words.fill(mend.volume)} empty"
    return MendView(
        name=mend.name,
        number=mend.number,
        kind=mend.kind,
        said=said,
        stated=mend.stated,
        path=f"finish.mending.mends[{place}].chosen",
        note=mend.note,
        choices=[_choice(mend, one, number, len(stated), words) for one in shown],
        free={f"mends[{number}].choose": None} if mend.stated and number is not None else {},
    )


def _choice(mend: Mended, option: MendOption, number: int | None, count: int, words: Words) -> MendChoice:
    board = []
    if option.thickness > 0.05:
        board.append(f"{words.fine(option.thickness)} thinner")
    if option.length > 0.0:
        board.append(f"{words.place(option.length)} shorter")
    values: dict[str, Any] = {}
    taken = option.kind == mend.chosen
    if option.fits and not (taken and mend.stated):
        values = (
            {f"mends[{number}].choose": option.kind}
            if number is not None
            else {f"mends[{count}]": {"defect": mend.number, "choose": option.kind}}
        )
    return MendChoice(
        kind=option.kind,
        title=f"{option.kind[:1].upper()}{option.kind[1:]}",
        fits=option.fits,
        reason=option.reason,
        money="no price stated" if option.money is None else words.money(option.money) if option.money else "nothing",
        hours=f"{option.hours:.1f} h",
        days=words.days(option.days) if option.days > 0.0 else "none",
        board=", ".join(board) or "nothing",
        epoxy=words.fill(option.volume) if option.volume > 0.0 else "",
        note=option.note,
        taken=taken,
        recommended=option.kind == mend.recommended,
        values=values,
    )


def _mending(width: float) -> Any:
    def draw(plan: Plan) -> str:
        from slabwright.sheets.mending_drawing import plan_picture

        assert plan.finish is not None
        context = Context(plan)
        x0, y0, x1, y1 = context.outline(context.slab.show_face).bounds
        high = (width - 8.0) * (y1 - y0) / max(x1 - x0, 1.0) + _FOOT
        return plan_picture(context, plan.finish.mending, width, high).svg()

    return draw


def there(plan: Plan) -> bool:
    """Whether something is mended."""
    return plan.slab is not None and plan.finish is not None and bool(plan.finish.mending.mends)


for _name, _width in (("mending-plan", 170.0), ("mending-plan-narrow", 100.0)):
    add_drawing(Drawing(_name, "Mending, seen from the show face", there, _mending(_width)))
