"""Readings that are begun: each is on the disk before the next is asked for, so that a stop loses nothing."""

from __future__ import annotations

import json
import os
from dataclasses import dataclass, field
from pathlib import Path

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import FaceName, Floats

NAME = "readings-begun.jsonl"


@dataclass(frozen=True)
class Taken:
    """One reading as it was taken.

    Attributes:
        face: A or B
        x: along the grain [mm]
        y: across [mm]
        z: height above the bed [mm]; None where it was skipped
        typed: what was typed
    """

    face: FaceName
    x: float
    y: float
    z: float | None
    typed: str


@dataclass
class Begun:
    """The file of the readings begun in a job's folder: how they are laid out, and each as it is taken or taken back."""

    path: Path
    along: int
    across: int
    outline: list[list[float]]
    made_outline: bool
    taken: list[Taken] = field(default_factory=list)
    lines: dict[str, float] = field(default_factory=dict)
    """Height of the level line above the bed for each face that is measured down from one [mm]."""
    edges_only: list[str] = field(default_factory=list)
    """Faces whose middle cannot be reached."""

    def corners(self) -> Floats:
        """The outline as an array."""
        import numpy as np

        return np.asarray(self.outline, dtype=np.float64)

    def start(self) -> None:
        """Begin the file."""
        head = {"along": self.along, "across": self.across, "outline": self.outline, "made_outline": self.made_outline}
        try:
            self.path.write_text(json.dumps(head) + "\n", encoding="utf-8")
        except OSError as error:
            raise SlabwrightError(
                f"{self.path}: cannot be written ({error.strerror}); free the folder for writing"
            ) from None

    def _append(self, entry: dict[str, object]) -> None:
        try:
            with self.path.open("a", encoding="utf-8") as file:
                file.write(json.dumps(entry) + "\n")
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            raise SlabwrightError(
                f"{self.path}: cannot be written ({error.strerror}); the readings so far are kept"
            ) from None

    def take(self, reading: Taken) -> None:
        """Keep a reading."""
        self.taken.append(reading)
        self._append({"face": reading.face, "x": reading.x, "y": reading.y, "z": reading.z, "typed": reading.typed})

    def take_back(self) -> None:
        """Take the last reading back."""
        self.taken.pop()
        self._append({"back": True})

    def forget(self, face: str, x: float, y: float) -> None:
        """Take the reading of one place back."""
        self.taken = [taken for taken in self.taken if (taken.face, taken.x, taken.y) != (face, x, y)]
        self._append({"forget": face, "x": x, "y": y})

    def measure_from(self, face: str, height: float) -> None:
        """From now on a face is measured down from a level line of that height above the bed [mm]; 0: up from the bed again."""
        self.lines[face] = height
        self._append({"line": face, "height": height})

    def leave_middle(self, face: str) -> None:
        """Only the long edges of a face are read from now on."""
        self.edges_only.append(face)
        self._append({"edges": face})


def put_aside(path: Path) -> Path | None:
    """Keep a file of readings begun under another name, so that starting anew loses nothing; None where there is none."""
    if not path.exists():
        return None
    aside = path.with_name(f"{path.stem}-old{path.suffix}")
    path.replace(aside)
    return aside


def resumed(path: Path) -> Begun:
    """The readings begun in a file.

    Raises:
        SlabwrightError: the file is not one of readings begun; names the line and the remedy.
    """
    number = 1
    try:
        text = path.read_text(encoding="utf-8")
        # A line that was cut off by a power cut was never answered for; the place is asked again.
        first, *rest = text[: text.rindex("\n")].split("\n")
        begun = Begun(path, **json.loads(first))
        for line in rest:
            number += 1
            entry = json.loads(line)
            if "back" in entry:
                begun.taken.pop()
            elif "forget" in entry:
                place = (entry["forget"], entry["x"], entry["y"])
                begun.taken = [taken for taken in begun.taken if (taken.face, taken.x, taken.y) != place]
            elif "line" in entry:
                begun.lines[entry["line"]] = float(entry["height"])
            elif "edges" in entry:
                begun.edges_only.append(entry["edges"])
            else:
                begun.taken.append(Taken(**entry))
    except (ValueError, TypeError, KeyError, IndexError, AttributeError, OSError):
        raise SlabwrightError(
            f"{path.name}:{number}: this is not a file of readings begun; mend the line, "
            "or start anew with slabwright read --again"
        ) from None
    return begun
