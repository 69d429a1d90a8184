"""Drawings of a plan that pages show: by a known name, drawn when they are asked for, and kept for a while."""

from __future__ import annotations

import dataclasses
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

from slabwright.plan import Plan
from slabwright.sheets.edition import Edition, job_in
from slabwright.sheets.fonts import FAMILY
from slabwright.web.planning import Planned

_KEPT = 48


@dataclass(frozen=True)
class Drawing:
    """A kind of drawing.

    Attributes:
        name: in its address: lower case and hyphens
        title: in plain words
        there: whether a plan has it
        draw: makes its SVG
        for_client: whether the client's page shows it
    """

    name: str
    title: str
    there: Callable[[Plan], bool]
    draw: Callable[[Plan], str]
    for_client: bool = False


def _top(side: str) -> Callable[[Plan], str]:
    def draw(plan: Plan) -> str:
        from slabwright.sheets.colours import SOFT
        from slabwright.sheets.context import Context
        from slabwright.sheets.top_drawing import face_drawing
        from slabwright.sheets.top_face_sheets import draw_face
        from slabwright.sheets.top_words import FACE_WORDS, SIDES

        assert plan.top is not None
        context = Context(plan)
        face = next(one for one in SIDES if one == side)
        seen = face_drawing(context, plan.top, face)
        x0, y0, x1, y1 = plan.top.outline.bounds
        high = 40.0 + 150.0 * (y1 - y0) / max(x1 - x0, 1.0)
        drawing = draw_face(plan.top, seen, context.words, 180.0, high)[0]
        revision = plan.job.stated.job.revision
        drawing.text(176.0, 3.9, f"{FACE_WORDS[face].capitalize()} up. Revision {revision}.", anchor="end", fill=SOFT)
        return drawing.svg()

    return draw


def _has_features(side: str) -> Callable[[Plan], bool]:
    def there(plan: Plan) -> bool:
        from slabwright.sheets.top_words import faces_with_features

        return plan.top is not None and side in faces_with_features(plan.top)

    return there


def _base_views(plan: Plan) -> str:
    from slabwright.sheets.base_views_sheet import three_views
    from slabwright.sheets.context import Context

    assert plan.base is not None
    words = Context(plan).words
    return three_views(plan.base, 180.0, 180.0, words, plan.job.stated.job.first_angle).svg()


def _base_standing(plan: Plan) -> str:
    from slabwright.sheets.base_view_3d import view_3d
    from slabwright.sheets.context import Context

    assert plan.base is not None
    return view_3d(plan.base, 180.0, 150.0, Context(plan).words).svg()


def _fill_shows(plan: Plan) -> bool:
    return plan.slab is not None and bool(plan.slab.chosen_fill) and bool(plan.slab.patches)


def _fill_that_shows(plan: Plan) -> str:
    """The show face with its filled places, as it is seen from above once it is up."""
    from slabwright.sheets.context import Context
    from slabwright.sheets.fill_sheets import draw_patches
    from slabwright.sheets.picture import Picture
    from slabwright.sheets.plan_view import View, draw_slab

    context = Context(plan)
    slab, face = context.slab, context.slab.show_face
    outline = context.seated(context.outline(face), face)
    x0, y0, x1, y1 = outline.bounds
    wide = 180.0
    high = (wide - 8.0) * (y1 - y0) / (x1 - x0) + 8.0
    drawing = Picture(wide, high + 8.0)
    view = View.fit(outline.bounds, (4.0, 4.0, wide - 8.0, high - 8.0), mirrored=face == "B")
    draw_slab(drawing, view, outline)
    draw_patches(drawing, view, slab.patches, outline)
    count = len(slab.patches)
    filled = f"{count} filled place{'s' if count != 1 else ''}"
    words = (
        f"Hatched: {filled}, {context.words.area(sum(patch.area for patch in slab.patches))} of the face that shows."
    )
    drawing.text(4.0, high + 5.0, words, size=4.0)
    return drawing.svg()


DRAWINGS: dict[str, Drawing] = {
    drawing.name: drawing
    for drawing in (
        Drawing("top-show-face", "The top, show face", _has_features("show"), _top("show"), for_client=True),
        Drawing("top-underside", "The top, underside", _has_features("underside"), _top("underside"), for_client=True),
        Drawing("base-views", "The base", lambda plan: plan.base is not None, _base_views, for_client=True),
        Drawing(
            "base-standing",
            "The base as it stands",
            lambda plan: plan.base is not None,
            _base_standing,
            for_client=True,
        ),
        Drawing("fill-that-shows", "Where the fill shows", _fill_shows, _fill_that_shows, for_client=True),
    )
}
"""Every drawing by its name; a page's module adds its own with `add_drawing`."""


def add_drawing(drawing: Drawing) -> None:
    """Make a drawing known.

    Raises:
        ValueError: the name is taken (a fault of this program)
    """
    if drawing.name in DRAWINGS:
        raise ValueError(f"a drawing {drawing.name} is known already")
    DRAWINGS[drawing.name] = drawing


def _with_fallback(svg: str) -> str:
    """A drawing that is shown as a picture cannot load the page's own font: it takes the machine's plain one."""
    return svg.replace(f'font-family="{FAMILY}"', f'font-family="{FAMILY}, sans-serif"')


class Drawer:
    """Draws, and keeps what was drawn."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[tuple[str, Edition, str], bytes] = OrderedDict()

    def there(self, planned: Planned, *, for_client: bool = False) -> list[Drawing]:
        """The drawings that a plan has."""
        if planned.result is None:
            return []
        wanted = [drawing for drawing in DRAWINGS.values() if drawing.for_client or not for_client]
        return [drawing for drawing in wanted if drawing.there(planned.result)]

    def draw(self, planned: Planned, edition: Edition, name: str) -> bytes | None:
        """A drawing of a revision as SVG; None where its plan has none of that name."""
        key = (planned.digest, edition, name)
        with self._lock:
            found = self._kept.get(key)
        if found is not None:
            return found
        drawing = DRAWINGS.get(name)
        if drawing is None or planned.result is None or not drawing.there(planned.result):
            return None
        plan = dataclasses.replace(planned.result, job=job_in(planned.result.job, edition))
        made = _with_fallback(drawing.draw(plan)).encode()
        with self._lock:
            self._kept[key] = made
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        return made
