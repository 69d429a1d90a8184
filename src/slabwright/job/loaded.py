"""A job as it was loaded: what was stated, the readings that its files hold, and where each thing was stated."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from slabwright.geometry.faces import Face, Floats
from slabwright.job.history import LoggedHours
from slabwright.job.models import JobFile, ShopFile


@dataclass(frozen=True)
class Place:
    """Where a key was stated: a file (relative to the job's folder where it can be) and its line, from 1."""

    file: str
    line: int


@dataclass(frozen=True)
class Readings:
    """What the survey files hold, in millimetres, as they were read.

    Attributes:
        face_a: readings of face A
        face_b: readings of face B; of two set-ups still in the second set-up's own frame (z up, face B on top)
        outline_a: corners of face A's outline, shape (n, 2), or None where none was given or found
        outline_b: the same for face B
        callipers: x, y, thickness, shape (n, 3); empty where there are none
        two_setups: true where face B is still in its own frame
        scanned: true where the readings come from a scan
    """

    face_a: Face
    face_b: Face
    outline_a: Floats | None
    outline_b: Floats | None
    callipers: Floats
    two_setups: bool
    scanned: bool


@dataclass(frozen=True)
class Job:
    """A job: the stated job, the shop's file, the readings, and where each key was stated.

    Attributes:
        stated: the job file
        shop: the shop file, or its defaults
        readings: None where the job has no survey yet
        rereadings: readings of each `[[rereadings]]`, in order
        where: place of each stated key by its path (`slab.species`, `shop:machine.feed`); a key that is not here is a default
        folder: the job's folder
        file: the job file's name
        history: hours that were logged in earlier jobs, in the order of their dates
    """

    stated: JobFile
    shop: ShopFile
    readings: Readings | None = None
    rereadings: tuple[Readings, ...] = ()
    where: Mapping[str, Place] = field(default_factory=dict)
    folder: Path = Path()
    file: str = "job.toml"
    history: tuple[LoggedHours, ...] = ()
