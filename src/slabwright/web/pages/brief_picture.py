"""The piece from the front and from the side, from the six answers alone: what the maker and the client agree on."""

from __future__ import annotations

from html import escape

from slabwright.job.models import JobFile
from slabwright.quantities import format_length

_USUAL = {"length": 2000.0, "width": 850.0, "height": 740.0, "thickness": 50.0}
"""Sizes that the picture is drawn with while they are open; they are told as open."""
_TUBE = 50.0
_WIDTH = 420.0
_LONGEST = 330.0
"""Of the piece in the picture; both views are drawn to one scale."""
_HIGHEST = 240.0
_LEFT = 62.0


def picture(stated: JobFile, width: str = "") -> tuple[str, str]:
    """The picture as two drawings to one scale, and in words.

    Args:
        stated: the job file
        width: in words, where it comes of the slab and is known

    Returns:
        SVG of the front and of the end, which take their colours from the page (classes `wood`, `steel`, `line`, `words`); and
        one sentence.
    """
    piece, units = stated.piece, stated.job.units
    sizes = {name: getattr(piece, name) for name in ("length", "width", "height")}
    thickness = piece.thickness if isinstance(piece.thickness, float) else None
    drawn = {name: value or _USUAL[name] for name, value in sizes.items()}
    thick = thickness or _USUAL["thickness"]
    told = {name: format_length(value, units) if value else f"{name} open" for name, value in sizes.items()}
    if sizes["width"] is None and piece.live_edges == "both":
        told["width"] = width or "width of the slab"
    scale = min(_LONGEST / max(drawn["length"], drawn["width"]), _HIGHEST / drawn["height"])
    floor = drawn["height"] * scale + 16.0
    views = []
    for name, front in (("length", True), ("width", False)):
        wide = drawn[name] * scale
        left = _LEFT + (_LONGEST - wide) / 2.0
        parts = _side(left, wide, drawn["height"] * scale, thick * scale, floor, piece.base, front, scale)
        parts += [_dimension(left, wide, floor + 20.0, told[name])]
        parts += [_upright(left - 26.0, floor, drawn["height"] * scale, told["height"])] if front else []
        label = f"{'From the front' if front else 'From the end'}: {told[name]} by {told['height']}"
        views.append(
            f'<svg class="drawing" viewBox="0 0 {_WIDTH:g} {floor + 50:.0f}" role="img" aria-label="{escape(label)}">'
            f'<path class="line thin" d="M{left - 40:.1f} {floor:.1f}H{left + wide + 24:.1f}"/>{"".join(parts)}</svg>'
        )
    said = ", ".join(told[name] if told[name].startswith(name) else f"{name} {told[name]}" for name in sizes)
    words = f"{said[:1].upper()}{said[1:]}; base: {piece.base or 'still open'}."
    return "".join(views), words


def _rect(kind: str, x: float, y: float, wide: float, high: float) -> str:
    return f'<rect class="{kind}" x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{high:.1f}"/>'


def _side(
    left: float, wide: float, high: float, thick: float, floor: float, base: str | None, front: bool, scale: float
) -> list[str]:
    """The top, and the base below it as its picture says."""
    top, tube = floor - high, max(3.0, _TUBE * scale)
    under = top + thick
    parts = [_rect("wood", left, top, wide, thick)]
    if base is None:
        parts.append(f'<path class="line open" d="M{left + wide * 0.2:.1f} {under:.1f}V{floor:.1f}"/>')
        parts.append(f'<path class="line open" d="M{left + wide * 0.8:.1f} {under:.1f}V{floor:.1f}"/>')
        return parts
    inset = (0.16 if front else 0.1) * wide
    outer = (left + inset, left + wide - inset - tube)
    if base == "trestles" and not front:
        middle = left + wide / 2
        parts += [
            f'<path class="steel-line" stroke-width="{tube:.1f}" d="M{middle:.1f} {under:.1f}L{foot:.1f} {floor:.1f}"/>'
            for foot in (outer[0], outer[1] + tube)
        ]
    else:
        parts += [_rect("steel", x, under, tube, floor - under) for x in outer]
    between = outer[1] - outer[0] + tube
    at_foot = base in ("U legs", "closed loops") and not front
    at_head = base in ("closed loops", "inverted U", "four legs") and not front
    if at_foot or (base == "trestles" and not front):
        parts.append(_rect("steel", outer[0], floor - tube, between, tube))
    if at_head:
        parts.append(_rect("steel", outer[0], under, between, tube))
    if base == "four legs" and front:
        parts.append(_rect("steel", outer[0], under, between, tube))
    return parts


def _dimension(left: float, wide: float, y: float, words: str) -> str:
    ends = f"M{left:.1f} {y - 5:.1f}v10M{left + wide:.1f} {y - 5:.1f}v10"
    return (
        f'<path class="line thin" d="M{left:.1f} {y:.1f}H{left + wide:.1f}{ends}"/>'
        f'<text class="words" x="{left + wide / 2:.1f}" y="{y + 18:.1f}" text-anchor="middle">{escape(words)}</text>'
    )


def _upright(x: float, floor: float, high: float, words: str) -> str:
    top = floor - high
    return (
        f'<path class="line thin" d="M{x:.1f} {top:.1f}V{floor:.1f}M{x - 5:.1f} {top:.1f}h10M{x - 5:.1f} {floor:.1f}h10"/>'
        f'<text class="words" transform="translate({x - 8:.1f} {(top + floor) / 2:.1f}) rotate(-90)" text-anchor="middle">'
        f"{escape(words)}</text>"
    )
