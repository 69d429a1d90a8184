"""The few figures that a person looks at first, and what pages call them: they lead where it is told what moved."""

from __future__ import annotations

HEADLINES: dict[str, str] = {
    "board.thickness": "Board, as well as it is known today",
    "slab.seat.bound": "The most that the slab can give",
    "slab.seat.thickness_low_filled": "Sure, 19 times in 20",
    "slab.seat.target": "Board that the cuts are planned for",
    "top.placement.length": "Length in the slab",
    "base.height.even": "Height above the floor",
    "base.mass": "Weight of the steel",
    "base.tip_load": "Load at the edge that tips it",
    "carry.mass.value": "Weight of the whole piece",
}
