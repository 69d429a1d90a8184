"""Air and the moisture that wood comes to in it."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

EQUATION = "Wood Handbook, FPL-GTR-190 (2010), equation 4-5"


@dataclass(frozen=True)
class Air:
    """Air of one season: temperature [degrees Celsius] and relative humidity [%]."""

    temperature: float
    humidity: float


def equilibrium_moisture(temperature: float, humidity: float) -> float:
    """Moisture content that wood comes to in steady air [%].

    With h = relative humidity as a fraction and T in degrees Celsius [1]_:

        M = 1800/W (K h / (1 - K h) + (K1 K h + 2 K1 K2 K^2 h^2) / (1 + K1 K h + K1 K2 K^2 h^2))

    Args:
        temperature: of the air, -20 to 100 [degrees Celsius]
        humidity: relative, 0 to 98 [%]

    Returns:
        Moisture content [%].

    Raises:
        ValueError: the air lies outside what the equation holds for.

    References:
        .. [1] Wood Handbook, FPL-GTR-190 (2010), equation 4-5; constants as in Simpson, FPL-RN-0268 (1998).
    """
    if not (-20.0 <= temperature <= 100.0 and 0.0 <= humidity <= 98.0):
        raise ValueError(
            f"air of {temperature:g} degrees Celsius and {humidity:g} % lies outside -20..100 degrees, 0..98 %"
        )
    t, h = temperature, humidity / 100.0
    w = 349.0 + 1.29 * t + 0.0135 * t * t
    k = 0.805 + 0.000736 * t - 0.00000273 * t * t
    k1 = 6.27 - 0.00938 * t - 0.000303 * t * t
    k2 = 1.91 + 0.0407 * t - 0.000293 * t * t
    kh = k * h
    bound = (k1 * kh + 2.0 * k1 * k2 * kh * kh) / (1.0 + k1 * kh + k1 * k2 * kh * kh)
    return 1800.0 / w * (kh / (1.0 - kh) + bound)


@cache
def rooms() -> dict[str, tuple[Air, Air]]:
    """The kinds of room: air of the driest and of the dampest season. Common practice."""
    text = resources.files("slabwright.reference").joinpath("rooms.toml").read_text(encoding="utf-8")
    return {kind: (Air(**seasons["dry"]), Air(**seasons["damp"])) for kind, seasons in tomllib.loads(text).items()}
