"""The dimensioned drawing of each face of the top."""

from __future__ import annotations

from math import ceil

from shapely import LineString

from slabwright.job.top_models import Channel
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import PAPER, SOFT, WOOD
from slabwright.sheets.context import Context
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, text_width
from slabwright.sheets.plan_view import View, draw_length_bar
from slabwright.sheets.top_drawing import Dimension, FaceDrawing, Seen, face_drawing
from slabwright.sheets.top_picture import PITCH, Box, Ordinate, TopPicture, free_place
from slabwright.sheets.top_sections import HIGH, Section, section_card, sections
from slabwright.sheets.top_words import (
    FACE_WORDS,
    Side,
    called,
    faces_with_features,
    mark,
    problems,
    tape,
    text_height,
)
from slabwright.sheets.words import Words
from slabwright.top.results import TopPlan

_FAR = 1e5
_GAP = 3.0
_IN_A_ROW = 5
_LEAST = 62.0
"""Height of the drawing [mm]."""
_LAYOUT = (
    "outside",
    "too-close",
    "near-edge",
    "pocket-floor",
    "channel-floor",
    "key-floor",
    "bar-floor",
    "recess-floor",
    "insert-cover",
    "deeper-than-wood",
    "nut-room",
    "keep-clear",
    "worked-edge",
    "cable-bend",
    "cable-too-thick",
    "channel-crosses-itself",
    "corner-too-tight",
    "outside-plate",
)


def face_sheets(context: Context, plan: TopPlan) -> list[Sheet]:
    """A drawing of each face that has features; another sheet of sections where they do not fit below it."""
    return [sheet for side in faces_with_features(plan) for sheet in _sheets(context, plan, side)]


def _sheets(context: Context, plan: TopPlan, side: Side) -> list[Sheet]:
    words, paper = context.words, context.paper
    face = face_drawing(context, plan, side)
    cuts = sections(face.features, words)
    thickness = plan.layout.thickness
    lead = _lead(context, plan, side)
    beside = len(cuts) <= _IN_A_ROW
    below = _cards(context, cuts, thickness) if beside else []
    # What is named on the drawing is known once it is drawn: the text below it is measured with every name in it first.
    most = _text(context, face, set(), 1)
    high = paper.inner_height - text_height(context, most) + 5.0 - (HIGH + 2.5 if below else 0.0)
    drawing, named, left_out = draw_face(plan, face, words, paper.inner_width, max(high, _LEAST))
    sheets = [Sheet(face.title, lead, [blocks.picture(drawing), *below], _text(context, face, named, left_out), "wide")]
    if not beside:
        rows = int((paper.inner_height - 6.0) / (HIGH + _GAP))
        each = rows * _IN_A_ROW
        for start in range(0, len(cuts), each):
            part = _cards(context, cuts[start : start + each], thickness)
            sheets.append(Sheet(f"{face.title}, sections", _SECTIONS, part, [[]], "wide"))
    return sheets


_SECTIONS = "This face up. Depths to scale, widths not; bold: below the face."


def _lead(context: Context, plan: TopPlan, side: Side) -> str:
    shown = plan.placement.face_up
    if side == "show":
        return f"Face {shown} up, seen from above. Top {context.words.fine(plan.layout.thickness)} thick."
    return (
        f"Turned over about its length; the left end stays left. Top {context.words.fine(plan.layout.thickness)} thick."
    )


def _cards(context: Context, cuts: list[Section], thickness: float) -> list[Block]:
    if not cuts:
        return []
    across = max(min(len(cuts), _IN_A_ROW), 4)
    width = (context.paper.inner_width - (across - 1) * _GAP) / across
    return [blocks.cards([section_card(each, thickness, width, context.words) for each in cuts], across, _GAP)]


def draw_face(
    plan: TopPlan, face: FaceDrawing, words: Words, width: float, height: float
) -> tuple[TopPicture, set[int], int]:
    """The drawing of a face with its running dimensions.

    Args:
        plan: of the top
        face: what is seen
        words: of the job
        width: of the drawing [mm]
        height: of the drawing [mm]

    Returns:
        The drawing, the numbers of the features whose names stand on it, and how many dimensions found no room.
    """
    drawing = TopPicture(width, height)
    said_along = [mark(each.value, words) for each in face.along]
    said_across = [mark(abs(each.value), words) for each in face.across]
    tall = 6.0 + max((text_width(s) for s in [*said_along, mark(plan.length, words)]), default=8.0)
    wide = 7.0 + max((text_width(s) for s in said_across), default=8.0)
    both = len(face.across) + 1 > int((height - tall - 4.0) / PITCH)
    right = wide if both else 4.0
    view = View.fit(plan.outline.bounds, (wide, 5.0, width - wide - right, height - tall - 6.5), mirrored=face.turned)
    drawing.path(view.data(plan.outline), weight=THICK, fill=WOOD)
    x0, y0, x1, y1 = view.page_box(plan.outline)
    near, far = "near edge", "far edge"
    upper, lower = (near, far) if face.turned else (far, near)
    drawing.text((x0 + x1) / 2, y0 - 1.2, upper, anchor="middle", fill=SOFT)
    middle = view.point(0.0, 0.0)[1]
    drawing.line(x0 - 1.0, middle, x1 + 1.0, middle, stroke=SOFT, dash="6 1 1 1")
    left_out = _dimension(drawing, view, face, plan, words, (x0, y0, x1, y1), both)
    for each in sorted(face.features, key=lambda seen: seen.feature.lies_in is not None):
        _draw(drawing, view, each)
    named = _tags(drawing, view, face.features, (x0 + 0.5, y0 + 0.5, x1 - 0.5, y1 - 0.5))
    low = plan.outline.intersection(LineString([(0.97 * plan.length, -_FAR), (0.97 * plan.length, _FAR)])).bounds
    foot = view.point(0.0, low[3] if face.turned else low[1])[1]
    drawing.text(x1 - 3.0, foot - 1.6, lower, anchor="end", fill=SOFT, halo=True)
    draw_length_bar(drawing, view, x0, 3.6, 60.0, words.metric)
    return drawing, named, left_out


def _draw(drawing: Picture, view: View, each: Seen) -> None:
    for shape in each.shapes:
        data = view.data(shape)
        if each.own:
            drawing.path(data, weight=THICK if each.feature.kind != "insert" else MIDDLE, fill=PAPER)
        else:
            drawing.path(data, weight=MIDDLE, dash="1.6 0.9", fill=PAPER)
    if each.feature.kind in ("insert", "through hole", "outlet"):
        x0, y0, x1, y1 = view.page_box(each.shapes[0])
        x, y, reach = (x0 + x1) / 2, (y0 + y1) / 2, max((x1 - x0) / 2, 1.0) + 0.9
        drawing.line(x - reach, y, x + reach, y, weight=THIN)
        drawing.line(x, y - reach, x, y + reach, weight=THIN)


def _dimension(
    drawing: TopPicture, view: View, face: FaceDrawing, plan: TopPlan, words: Words, box: Box, both: bool
) -> int:
    x0, _, x1, y1 = box

    def nearest(each: Dimension) -> float:
        """The place nearest to the foot of the page."""
        return max(view.point(0.0, other)[1] for other in each.others)

    along = [Ordinate(view.point(e.value, 0.0)[0], mark(e.value, words), nearest(e)) for e in face.along]
    along += [Ordinate(x0, "0", y1 - 1.0), Ordinate(x1, mark(plan.length, words), y1 - 1.0)]
    out = drawing.below(along, y1 + 1.2, 2.2, drawing.width - 2.2)
    sides: tuple[list[Ordinate], list[Ordinate]] = ([], [])
    half = plan.length / 2
    for each in face.across:
        if abs(each.value) <= 0.05:
            continue
        y = view.point(0.0, each.value)[1]
        said = mark(abs(each.value), words)
        if not both or each.others[0] <= half:
            sides[0].append(Ordinate(y, said, view.point(each.others[0], 0.0)[0]))
        if both and each.others[-1] > half:
            sides[1].append(Ordinate(y, said, view.point(each.others[-1], 0.0)[0]))
    sides[0].append(Ordinate(view.point(0.0, 0.0)[1], "0", x0 + 1.0))
    low, high = 3.0, drawing.height - 2.0 - (drawing.height - y1) / 2
    out += drawing.beside(sides[0], x0 - 1.2, low, high)
    return out + (drawing.beside(sides[1], x1 + 1.2, low, high, right=True) if sides[1] else 0)


def _tags(drawing: TopPicture, view: View, features: tuple[Seen, ...], within: Box) -> set[int]:
    """Each feature's number, and its name where there is room for all that are of a size."""
    shapes = {each.number: view.page_box(each.shapes[-1]) for each in features}
    solid = [box for each in features for box in _solid_boxes(view, each)]
    taken: list[Box] = list(solid)
    named: set[int] = set()
    few = len(features) <= 16
    for each in features:
        box = shapes[each.number]
        name = called(each.feature.name, 20)
        wide = max(5.0, text_width(str(each.number)) + 2.0)
        full = wide + 1.2 + 0.9 * text_width(name)
        anchor = box if each.feature.kind != "channel" else _solid_boxes(view, each)[-1]
        place = free_place(anchor, full, 5.0, taken, within) if few else None
        if place is not None:
            named.add(each.number)
            drawing.rectangle(place[0] - full / 2 + wide, place[1] - 2.2, full - wide, 4.6, fill=WOOD, weight=0.0)
            drawing.tag((place[0] - full / 2 + wide / 2, place[1]), each.number)
            drawing.text(place[0] - full / 2 + wide + 1.2, place[1] + 0.35 * TEXT, name)
            taken.append((place[0] - full / 2, place[1] - 2.5, place[0] + full / 2, place[1] + 2.5))
            continue
        free = free_place(anchor, wide, 5.0, taken, within) or (
            (anchor[0] + anchor[2]) / 2,
            (anchor[1] + anchor[3]) / 2,
        )
        drawing.tag(free, each.number)
        taken.append((free[0] - wide / 2, free[1] - 2.5, free[0] + wide / 2, free[1] + 2.5))
    return named


def _solid_boxes(view: View, each: Seen) -> list[Box]:
    """What a tag keeps clear of: a channel leg by leg."""
    if not isinstance(each.asked, Channel):
        return [view.page_box(shape) for shape in each.shapes]
    legs = []
    half = each.asked.width / 2
    for (ax, ay), (bx, by) in zip(each.asked.path, each.asked.path[1:], strict=False):
        px, py = zip(view.point(ax, ay), view.point(bx, by), strict=True)
        reach = half * view.scale
        legs.append((min(px) - reach, min(py) - reach, max(px) + reach, max(py) + reach))
    return legs


def _text(context: Context, face: FaceDrawing, named: set[int], left_out: int) -> list[list[Block]]:
    words = context.words
    unit = "mm" if words.metric else "inches, to 1/32; the feature table has thousandths"
    said = [
        f"Along from the left end, across from the centre line; {unit}.",
        "Pockets: the opening, with its room. Holes and keys: the middle. Channels: the corners of the path.",
    ]
    if any(not each.own for each in face.features):
        said.append("Dashed: comes through from the other face.")
    if left_out:
        said.append(f"{left_out} dimensions found no room here: see the feature table.")
    key = [f"{each.number} {called(each.feature.name)}" for each in face.features if each.number not in named]
    names: list[Block] = []
    if key:
        columns = 2 if len(key) > 2 else 1
        most = 3
        shown = key if len(key) <= columns * most else [*key[: columns * most - 1], "all in the feature table"]
        chunk = ceil(len(shown) / columns)
        parts = [shown[k * chunk : (k + 1) * chunk] for k in range(columns)]
        names = [blocks.side_by_side([[blocks.text(each) for each in part] for part in parts])]
    edges = [
        f"{called(edge.name)}: {edge.kind} {tape(edge.size, words)} along "
        f"{'all edges' if len(edge.edges) == 4 else ', '.join(edge.edges)}."
        for edge in face.edges
    ]
    todo = [
        f"{FACE_WORDS[face.side].capitalize()} up, left end at your left. Strike the centre line.",
        "Mark everything out before the first cut; hold what it goes to against it.",
    ]
    ticks = ["Marked out, measured twice", "Depth stop set on waste"]
    first: list[Block] = [blocks.steps(todo)]
    second: list[Block] = [blocks.text(each) for each in [*said, *edges[:2]]]
    third = [*problems(context, _LAYOUT, 1), *names]
    return [first, second, [*third, blocks.checks(ticks)]]
