"""Closed shapes of an SVG drawing.

A drawing that states its width in mm, cm, in, pt or pc is to scale; otherwise one of its units is one of the outline's.
SVG counts y downward; the drawing is mirrored so that y counts up from the page's lower left corner.

References:
    .. [1] Scalable Vector Graphics (SVG) 1.1, second edition, W3C 2011: chapters 7 (coordinates, units) and 9 (shapes)
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slabwright.geometry.faces import Floats
from slabwright.job.paths import shown
from slabwright.job.readings.source import FARTHEST, Source
from slabwright.job.readings.svg_path import PathError, loops_of_path

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

FLATNESS = 0.05
"""Millimetres that a drawn curve may lie from its corners."""
_ABSOLUTE = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6}
_PIXEL = 25.4 / 96
_NOT_DRAWN = {"defs", "clipPath", "mask", "marker", "pattern", "symbol"}
_NUMBERS = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-z%]*)\s*", re.ASCII)
_TRANSFORM = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)")


@dataclass(frozen=True)
class _Page:
    """The page in the drawing's units: millimetres of one unit, x of the left side, y of the lower side (counted down)."""

    scale: float
    left: float
    bottom: float


def loops_of_svg(source: Source) -> list[Floats]:
    """The closed paths, polygons, rectangles, circles and ellipses of a drawing, each shape (n, 2) [mm].

    Raises:
        SlabwrightError: a file that is no SVG, that declares a document type, or whose shapes can't be read.
    """
    from xml.etree import ElementTree

    try:
        text = source.read_text().decode()
    except UnicodeDecodeError:
        source.fail("the file holds characters that are not UTF-8; save the drawing as SVG in UTF-8.")
    if "<!doctype" in text.lower() or "<!entity" in text.lower():
        source.fail("the file declares a document type or entities, which are not read; save it as plain SVG.")
    try:
        root = ElementTree.fromstring(text)
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        source.fail(f"the file can't be read as SVG ({error}); save the drawing as plain SVG again.")
    if _tag(root) != "svg":
        source.fail(f"the file holds {shown(_tag(root))}, not a drawing; save it as plain SVG.")
    page = _page(source, root)
    loops = []
    for element, matrix in _drawn(source, root):
        stretch = max(math.sqrt(abs(np.linalg.det(matrix[:2, :2]))), 1e-9)
        try:
            found = _loops(element, FLATNESS / (page.scale * stretch))
        except PathError as error:
            source.fail(f"a {_tag(element)} of the drawing can't be read: {error}; save it as plain SVG again.")
        for corners in found:
            plan = np.array([[corner.real, corner.imag, 1.0] for corner in corners]) @ matrix[:2].T
            plan = np.column_stack([plan[:, 0] - page.left, page.bottom - plan[:, 1]]) * page.scale
            if np.all(np.abs(plan) <= FARTHEST):
                loops.append(plan)
    return loops


def _tag(element: Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def _length(text: str | None) -> tuple[float, str]:
    """Number and unit of a length; 0 where there is none."""
    match = _LENGTH.fullmatch(text or "")
    return (float(match.group(1)), match.group(2)) if match else (0.0, "")


def _page(source: Source, root: Element) -> _Page:
    width, width_unit = _length(root.get("width"))
    height, height_unit = _length(root.get("height"))
    box = [float(number) for number in _NUMBERS.findall(root.get("viewBox", ""))]
    if root.get("viewBox") and (len(box) != 4 or not all(map(math.isfinite, box)) or min(box[2:]) <= 0):
        source.fail(
            f"the drawing's viewBox is {shown(root.get('viewBox', ''))}; four numbers are wanted, the last two above 0."
        )
    scales = []
    if len(box) == 4:
        sizes = ((width, width_unit, box[2]), (height, height_unit, box[3]))
        scales = [size * _ABSOLUTE[unit] / units for size, unit, units in sizes if unit in _ABSOLUTE and size > 0]
        left, bottom = box[0], box[1] + box[3]
    elif width_unit in _ABSOLUTE:
        scales = [_PIXEL]
        left, bottom = 0.0, height * _ABSOLUTE.get(height_unit, _PIXEL) / _PIXEL
    else:
        left, bottom = 0.0, height if height_unit in ("", "px") else 0.0
    scale = min(scales) if scales else source.factor
    if not 1e-9 < scale < 1e9:
        source.fail("the drawing's width and viewBox give no scale; state its width in mm.")
    return _Page(scale, left, bottom)


def _drawn(source: Source, root: Element) -> Iterator[tuple[Element, Floats]]:
    """Every shape that is drawn, with the transformation to the drawing's units."""
    waiting = [(child, np.eye(3)) for child in root]
    while waiting:
        element, matrix = waiting.pop()
        if _tag(element) in _NOT_DRAWN or element.get("display") == "none":
            continue
        if element.get("transform"):
            matrix = matrix @ _transform(source, element.get("transform", ""))
        yield element, matrix
        waiting.extend((child, matrix) for child in element)


def _transform(source: Source, text: str) -> Floats:
    """The matrix of a `transform` attribute, chapter 7.6 [1]_."""
    whole = np.eye(3)
    if _TRANSFORM.sub("", text).strip(" \t\r\n,"):
        source.fail(f"the transform {shown(text)} can't be read; save the drawing as plain SVG.")
    for name, arguments in _TRANSFORM.findall(text):
        values = [float(number) for number in _NUMBERS.findall(arguments)]
        whole = whole @ _matrix(source, name, values, text)
    with np.errstate(invalid="ignore"):
        if not np.isfinite(whole).all():
            source.fail(f"the transform {shown(text)} is not finite; save the drawing as plain SVG.")
    return whole


def _matrix(source: Source, name: str, values: list[float], text: str) -> Floats:
    matrix = np.eye(3)
    count = len(values)
    if name == "matrix" and count == 6:
        matrix[:2] = np.array(values).reshape(3, 2).T
    elif name == "translate" and count in (1, 2):
        matrix[:2, 2] = values if count == 2 else (values[0], 0.0)
    elif name == "scale" and count in (1, 2):
        matrix[0, 0], matrix[1, 1] = values[0], values[-1]
    elif name == "rotate" and count in (1, 3):
        turn = math.radians(values[0] % 360.0)
        matrix[:2, :2] = [[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]]
        if count == 3:
            about = np.array(values[1:])
            matrix[:2, 2] = about - matrix[:2, :2] @ about
    elif name in ("skewX", "skewY") and count == 1:
        matrix[(0, 1) if name == "skewX" else (1, 0)] = math.tan(math.radians(values[0] % 360.0))
    else:
        source.fail(f"the transform {shown(text)} can't be read; save the drawing as plain SVG.")
    return matrix


def _loops(element: Element, flatness: float) -> list[list[complex]]:
    tag = _tag(element)
    if tag == "path":
        return loops_of_path(element.get("d", ""), flatness)
    if tag in ("polygon", "polyline"):
        points = " ".join(_NUMBERS.findall(element.get("points", "")))
        return loops_of_path(f"M {points} {'Z' if tag == 'polygon' else ''}", flatness) if points else []
    if tag == "rect":
        x, y, width, height = (_length(element.get(name))[0] for name in ("x", "y", "width", "height"))
        return loops_of_path(f"M {x} {y} h {width} v {height} h {-width} Z", flatness)
    if tag in ("circle", "ellipse"):
        rx, ry = (_length(element.get(name))[0] for name in (("r", "r") if tag == "circle" else ("rx", "ry")))
        x, y = (_length(element.get(name))[0] for name in ("cx", "cy"))
        arc = f"A {rx} {ry} 0 0 1"
        return loops_of_path(f"M {x - rx} {y} {arc} {x + rx} {y} {arc} {x - rx} {y} Z", flatness) if rx > 0 < ry else []
    return []
