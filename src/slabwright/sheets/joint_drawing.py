"""Joints drawn large in section: the whole joint above, each of its seams still larger below."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from slabwright.base.weld_joints import Meeting, corner_radius, thickness_of
from slabwright.base.weld_plan import Seam
from slabwright.reference.welding import welding
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT
from slabwright.sheets.joint_scenes import Place, Scene, scenes, seam_scene
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture
from slabwright.sheets.plan_view import View
from slabwright.sheets.top_words import tape
from slabwright.sheets.weld_words import Alike, letter
from slabwright.sheets.words import Words

_LINE = 4.2
_MARK = 2.4
_NARROW = 30.0
"""A seam with less room than this has its gap on two lines [mm]."""
_UPPER = 0.5
"""Share of the height that the whole joint takes."""


def joint_picture(alike: Alike, width: float, high: float, words: Words) -> Picture:
    """A joint in section.

    Args:
        alike: the joint
        width: of the drawing [mm]
        high: its height [mm]
        words: how figures are written
    """
    picture = Picture(width, high)
    letters = {seam.place: letter(k) for k, group in enumerate(alike.seams) for seam in group}
    upper = _UPPER * high
    cuts = scenes(alike.meeting, alike.joint)
    columns = [*cuts, None] if alike.meeting.kind == "plate on a rail" else list(cuts)
    each = width / len(columns)
    for k, scene in enumerate(columns):
        if scene is None:
            _stitches(picture, alike, (k * each + 2.0, 0.0, each - 2.0, upper), words)
            continue
        view = _view(scene, (k * each + 6.0, 7.0, each - 12.0, upper - 18.0))
        _draw(picture, view, scene, weight=MIDDLE, step=0.75)
        for place, at, way in scene.marks:
            _mark(picture, view, at, way, letters[place])
        if len(columns) > 1:
            picture.text(k * each, 3.6, scene.title, weight=600)
        _size(picture, view, scene, alike.meeting, upper - 1.4, words)
    # Each seam, as it is fitted up and as it is laid.
    each = width / max(len(alike.seams), 2)
    for k, group in enumerate(alike.seams):
        left = k * each
        lines = _figures(group[0], alike.meeting, words, narrow=each < _NARROW)
        low = high - _LINE * len(lines) - 1.0
        picture.line(left, upper + 1.0, left + each - 2.0, upper + 1.0, weight=THIN, stroke=SOFT)
        _ring(picture, left + _MARK, upper + 2.6 + _MARK, letter(k))
        scene, measures = seam_scene(group[0], alike.meeting)
        view = _view(scene, (left + 5.6, upper + 5.0, each - 8.6, low - upper - 7.0))
        _draw(picture, view, scene)
        for start, stop, _ in measures:
            _dimension(picture, view, start, stop)
        for n, line in enumerate(lines):
            picture.text(left, low + _LINE * (n + 1) - 0.6, line)
    return picture


def _view(scene: Scene, room: tuple[float, float, float, float]) -> View:
    shapes = [shape for shape in (*scene.pieces, *scene.welds) if not shape.is_empty]
    x0, y0, x1, y1 = shapely.union_all(shapes).bounds
    return View.fit((x0, y0, x1, y1), room)


def _draw(picture: Picture, view: View, scene: Scene, *, weight: float = THICK, step: float = 1.1) -> None:
    """Steel hatched, each piece the other way; weld solid; nothing along the edge where the steel goes on."""
    edge = scene.clip.boundary.buffer(0.02)
    for k, piece in enumerate(scene.pieces):
        if piece.is_empty:
            continue
        data = view.data(piece)
        picture.path(data, weight=0.0, fill=PAPER, rule="evenodd")
        picture.hatch(data, view.page_box(piece), step=step, stroke=INK, falling=bool(k % 2))
        for line in _lines(piece.boundary.difference(edge)):
            picture.polyline(view.ring(line.coords), weight=weight)
    for line in scene.lines:
        picture.polyline(view.ring(line.coords), weight=MIDDLE, dash="1.6 0.8")
    for weld in scene.welds:
        if not weld.is_empty:
            picture.path(view.data(weld), weight=MIDDLE, fill=INK)


def _lines(shape: BaseGeometry) -> list[LineString]:
    merged = shapely.line_merge(shape) if shape.geom_type == "MultiLineString" else shape
    return [part for part in getattr(merged, "geoms", [merged]) if isinstance(part, LineString) and not part.is_empty]


def _mark(picture: Picture, view: View, at: Place, way: Place, name: str) -> None:
    x, y = view.point(*at)
    size = max((way[0] ** 2 + way[1] ** 2) ** 0.5, 1e-9)
    to_x, to_y = x + 6.2 * way[0] / size, y - 6.2 * way[1] / size
    to_x = min(max(to_x, _MARK + 0.2), picture.width - _MARK - 0.2)
    picture.line(x, y, to_x, to_y, weight=THIN)
    _ring(picture, to_x, to_y, name)


def _ring(picture: Picture, x: float, y: float, name: str) -> None:
    picture.circle(x, y, _MARK, weight=MIDDLE, fill=PAPER, stroke=CHOSEN)
    picture.text(x, y + 0.3 * TEXT, name, anchor="middle", weight=700, fill=CHOSEN)


def _dimension(picture: Picture, view: View, start: Place, stop: Place) -> None:
    (ax, ay), (bx, by) = view.point(*start), view.point(*stop)
    picture.line(ax, ay, bx, by, stroke=CHOSEN)
    for x, y in ((ax, ay), (bx, by)):
        picture.line(x - 0.8, y + 0.8, x + 0.8, y - 0.8, stroke=CHOSEN)


def _size(picture: Picture, view: View, scene: Scene, meeting: Meeting, foot: float, words: Words) -> None:
    """The side of the tube and its wall, below a cut."""
    side = meeting.section.width if scene.title == "Across the plate" else meeting.inside
    if scene.title == "Across" and meeting.onto is not None:
        side = meeting.outside
    said = f"{tape(side, words)}, wall {tape(thickness_of(meeting.section), words)}"
    if meeting.onto is None and meeting.kind != "cap":
        said = f"{tape(side, words)}, plate {tape(meeting.thickness, words)}"
    x0, _, x1, _ = shapely.union_all([piece for piece in scene.pieces if not piece.is_empty]).bounds
    middle = (view.point(x0, 0.0)[0] + view.point(x1, 0.0)[0]) / 2
    if meeting.kind == "mitre":  # clear of the letter at its corner
        middle += 14.0
    picture.text(middle, foot - 1.6, said, anchor="middle", halo=True)


def _figures(seam: Seam, meeting: Meeting, words: Words, *, narrow: bool) -> list[str]:
    """Below a seam: what it measures."""
    table = welding()
    unit = " mm" if words.metric else '"'
    if seam.leg is not None:
        return [f"leg {tape(seam.leg, words)}", f"throat {words.fine(seam.throat)}"]
    if seam.type.startswith("flare"):
        steel = meeting.onto if meeting.onto is not None else meeting.section
        return [f"radius {tape(corner_radius(steel), words)}", f"throat {words.fine(seam.throat)}"]
    if meeting.kind == "cap":
        # It is set in, without a gap: the bevel of its own edge is what is filled.
        return ["set in flush", "edge bevelled", f"throat {words.fine(seam.throat)}"]
    gap = f"{words.number(table.gap[0])}–{words.number(table.gap[1])}{unit}"
    lines = ["gap", gap] if narrow else [f"gap {gap}"]
    if seam.bevel:
        lines.append(f"{table.bevel:.0f}° each edge")
        lines.append(f"land {words.fine(table.land)}")
    lines.append(f"throat {words.fine(seam.throat)}")
    return lines


def _stitches(picture: Picture, alike: Alike, room: tuple[float, float, float, float], words: Words) -> None:
    """Plate on a rail from one side: the stitches of this side, and dashed those of the other."""
    left, _, width, high = room
    meeting = alike.meeting
    picture.text(left, 3.6, "From the side", weight=600)
    scale = width / max(meeting.length, 1.0)
    top = 0.34 * high
    picture.rectangle(left, top, width, 2.2, weight=THICK, fill=PAPER)
    picture.rectangle(left, top + 2.2, width, 8.0, weight=THICK, fill=PAPER)
    seams: Sequence[Seam] = alike.joint.seams
    count = seams[0].stitches
    stitch = seams[0].length / count
    pitch = (meeting.length - stitch) / (count - 1) if count > 1 else 0.0
    for k in range(count):
        at = left + scale * k * pitch
        picture.rectangle(at, top + 2.2, scale * stitch, 1.7, fill=INK, weight=THIN)
    for k in range(count - 1):
        at = left + scale * (k + 0.5) * pitch
        picture.rectangle(at, top + 4.6, scale * stitch, 1.7, weight=MIDDLE, dash="0.9 0.6")
    said = [f"{count} of {tape(stitch, words)} a side,"] if count > 1 else [f"{tape(stitch, words)} each side"]
    if count > 1:
        said += [f"every {words.place(pitch)};", "dashed: other side"]
    for n, line in enumerate(said):
        picture.text(left, top + 15.0 + _LINE * n, line)
