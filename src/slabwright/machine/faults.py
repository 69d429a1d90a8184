"""What can be wrong with a program."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

FaultKind = Literal[
    "form",
    "word",
    "group",
    "state",
    "units",
    "axes",
    "feed",
    "arc",
    "end",
    "start",
    "spindle",
    "travel",
    "rapid",
    "clamp",
    "holder",
    "window",
    "below",
    "left",
    "depth",
    "plunge",
    "finish",
]


@dataclass(frozen=True)
class Fault:
    """What is wrong with a program.

    Attributes:
        line: of the text, from 1; 0 where it is the whole that is wrong
        kind: what sort of fault
        message: in plain words
    """

    line: int
    kind: FaultKind
    message: str
