"""The price as pictures: the whole on a line with its range, and a bar for each line that moves it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.shop.money import format_amount
from slabwright.shop.price_results import Price, PriceLine

_WIDTH, _LEFT, _RIGHT = 640.0, 4.0, 636.0


@dataclass(frozen=True)
class Span:
    """A line of the price with its bar.

    Attributes:
        name: what it is
        amount: how much of it
        shown: what is reckoned with
        low: least likely amount
        high: most likely amount
        bar: SVG without words, which may be pulled wide
    """

    name: str
    amount: str
    shown: str
    low: str
    high: str
    bar: str


def movers(price: Price, most: int = 12) -> list[PriceLine]:
    """The lines that can move the price most, widest range first."""
    wide = [line for line in price.lines if line.high - line.low > 0.0]
    return sorted(wide, key=lambda line: (line.low - line.high, line.name))[:most]


def total_line(price: Price) -> str:
    """The price between where it comes out once in ten at the low and the high end, as SVG without words."""
    low, high = price.low, max(price.high, price.total)
    return _bar(min(low, price.total), price.low, price.high, price.total, high)


def spans(lines: Sequence[PriceLine], currency: str) -> list[Span]:
    """A bar for each line from its low to its high, with a mark at what is reckoned; all to one scale."""
    most = max((line.high for line in lines), default=0.0) or 1.0

    def money(amount: float) -> str:
        return format_amount(round(amount, 6), currency)

    return [
        Span(
            name=line.name,
            amount=line.amount,
            shown=money(line.price),
            low=money(line.low),
            high=money(line.high),
            bar=_bar(0.0, line.low, line.high, line.price, most),
        )
        for line in lines
    ]


def _bar(first: float, low: float, high: float, mark: float, last: float) -> str:
    room = max(last - first, 1e-9)

    def x(amount: float) -> float:
        return round(_LEFT + (_RIGHT - _LEFT) * (amount - first) / room, 2)

    return (
        f'<svg class="money-bar" viewBox="0 0 {_WIDTH:g} 24" preserveAspectRatio="none" aria-hidden="true" focusable="false">'
        f'<path class="axis" d="M{_LEFT:g} 12H{_RIGHT:g}"/>'
        f'<rect class="range" x="{x(low):g}" y="5" width="{max(x(high) - x(low), 2.0):g}" height="14" rx="2"/>'
        f'<path class="mark" d="M{x(mark):g} 1v22"/></svg>'
    )
