"""Inks of the sheets, and the ramp of the height maps.

The ramp runs from pale wood to marking-out blue in even steps of lightness (CIE L*), so that it reads the same in grey, and
along the blue-yellow axis, which red-green colour-blind eyes tell apart.

References:
    .. [1] CIE 15:2018 Colorimetry, L*a*b* with the D65 white: from memory
    .. [2] IEC 61966-2-1:1999, sRGB transfer function: from memory
    .. [3] WCAG 2.2, "contrast ratio": from memory
"""

from __future__ import annotations

INK = "#1E2326"
SOFT = "#55606A"
PAPER = "#FFFFFF"
WOOD = "#F3EADA"
CHOSEN = "#1B4B8F"
STOP = "#A3341F"
CARE = "#8A5A00"
GO = "#2F6B3A"

_PALE = (95.0, 1.0, 16.0)
_DEEP = (32.0, 6.0, -44.0)
_WHITE = (0.95047, 1.0, 1.08883)


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def _encoded(channel: float) -> float:
    channel = min(max(channel, 0.0), 1.0)
    return 12.92 * channel if channel <= 0.0031308 else 1.055 * channel ** (1 / 2.4) - 0.055


def luminance(colour: str) -> float:
    """Relative luminance of `#RRGGBB`, 0 (black) to 1 (white)."""
    red, green, blue = (_linear(int(colour[i : i + 2], 16) / 255.0) for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def lightness(colour: str) -> float:
    """CIE L* of `#RRGGBB`, 0 to 100."""
    y = luminance(colour)
    return 116.0 * y ** (1 / 3) - 16.0 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def _from_lab(lightness_: float, a: float, b: float) -> str:
    middle = (lightness_ + 16.0) / 116.0
    x, y, z = (
        white * (t**3 if t > 6 / 29 else 3 * (6 / 29) ** 2 * (t - 4 / 29))
        for white, t in zip(_WHITE, (middle + a / 500.0, middle, middle - b / 200.0), strict=True)
    )
    channels = (
        3.2406 * x - 1.5372 * y - 0.4986 * z,
        -0.9689 * x + 1.8758 * y + 0.0415 * z,
        0.0557 * x - 0.2040 * y + 1.0570 * z,
    )
    return "#" + "".join(f"{round(255 * _encoded(channel)):02X}" for channel in channels)


def ramp(steps: int) -> list[str]:
    """Colours from pale (least) to deep (most), even in lightness."""
    shares = [index / max(steps - 1, 1) for index in range(steps)]
    return [
        _from_lab(*(pale + share * (deep - pale) for pale, deep in zip(_PALE, _DEEP, strict=True))) for share in shares
    ]
