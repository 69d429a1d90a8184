"""A tool path: straight moves of the middle of the cutter's end."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.geometry.faces import Floats


@dataclass(frozen=True)
class Toolpath:
    """Straight moves in the machine's frame.

    Attributes:
        points: where the tool is; row 0 is where it starts, move i goes from row i to row i + 1; shape (n + 1, 3) [mm]
        feed: of each move; 0: a rapid; shape (n,) [mm/min]
    """

    points: Floats
    feed: Floats
