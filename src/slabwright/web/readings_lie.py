"""The lie of a slab that is still being read: the best board of the readings so far, and what of it can be promised."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE
from slabwright.web.planning import loaded
from slabwright.web.readings_journal import Place, Readings, place_of
from slabwright.web.store import changed

_LEAST = 3
"""Readings that make a plane."""


@dataclass(frozen=True)
class LieSoFar:
    """What the readings so far say.

    Attributes:
        read: heights that were read
        thickness: of the flat board of the readings [mm]; None where it is not known yet
        promised: of it sure 19 times in 20, before what the steps of shims take [mm]
        waiting: why it is not known yet; nothing where it is
        above: height of each place above the finished plane of its face [mm]: what would come off there
        deciding: places that carry the lie
    """

    read: int
    thickness: float | None = None
    promised: float | None = None
    waiting: str = ""
    above: dict[Place, float] = field(default_factory=dict)
    deciding: tuple[Place, ...] = ()


def lie_so_far(files: Mapping[str, bytes], readings: Readings) -> LieSoFar:
    """Work out the lie of what is read.

    Args:
        files: of the job's newest revision; what it has been read before is not used
        readings: so far
    """
    read = {place: taken for place, taken in readings.taken.items() if taken.z is not None}
    of = {face: sum(place[0] == face for place in read) for face in ("A", "B")}
    if of["A"] < _LEAST:
        return LieSoFar(len(read), waiting="Three places of face A tell how it lies.")
    if of["B"] < _LEAST:
        return _face_a(readings, len(read))
    try:
        return _board(files, readings, len(read))
    except SlabwrightError as error:
        words = str(error).removeprefix("slab.survey: ")
        return LieSoFar(len(read), waiting=f"Not known yet: {words}")


def _face_a(readings: Readings, count: int) -> LieSoFar:
    """Face A alone: how far it is from flat."""
    from slabwright.geometry.flatness import minimum_zone

    rows = [
        (place, taken.x, taken.y, taken.z) for place, taken in readings.taken.items() if place[0] == "A" and taken.z
    ]
    points = np.array([row[1:] for row in rows], dtype=np.float64)
    try:
        zone = minimum_zone(points)
    except ValueError:
        return LieSoFar(count, waiting="The places read lie in a line; read one beside it.")
    low = zone.a * points[:, 0] + zone.b * points[:, 1]
    above = points[:, 2] - low
    above -= above.min()
    return LieSoFar(
        count,
        waiting="Face B tells the thickness: read it next.",
        above={row[0]: float(height) for row, height in zip(rows, above, strict=True)},
    )


def _board(files: Mapping[str, bytes], readings: Readings, count: int) -> LieSoFar:
    from slabwright.geometry.strip import widest_strip
    from slabwright.slab.hidden import hidden_surface
    from slabwright.slab.promise import between_readings, promise
    from slabwright.slab.survey import survey

    job = loaded(with_survey(files, readings))
    if job.rereadings and readings.after:
        job = replace(job, readings=job.rereadings[-1])
    slab, shop = job.stated.slab, job.shop
    assert slab is not None
    found = survey(job)
    try:
        strip = widest_strip(found.face_a, found.face_b)
    except ValueError:
        return LieSoFar(count, waiting="The readings of the two faces do not lie over one another yet.")
    planes = strip.planes
    above: dict[Place, float] = {}
    for place, taken in readings.taken.items():
        if taken.z is not None:
            level = planes.to_seat(np.array([[taken.x, taken.y, taken.z]]))[0, 2]
            height = level - planes.c / planes.slant if place[0] == "A" else planes.d / planes.slant - level
            above[place] = float(height)
    deciding = _deciding(readings, strip.contacts_a, "A") + _deciding(readings, strip.contacts_b, "B")
    if strip.thickness <= 0.0:
        return LieSoFar(count, waiting="No flat board lies in these readings yet.", above=above, deciding=deciding)
    told = promise(
        strip.thickness,
        between_readings(hidden_surface(found, reading_error=slab.reading_error), planes),
        tie=None,
        tie_point=(0.0, 0.0),
        shim_loss=0.0,
        shim_error=0.0,
        z_zero_error=shop.machine.z_zero_error,
        marks_and_sanding=shop.allowance.marks_and_sanding,
    )
    return LieSoFar(count, thickness=strip.thickness, promised=max(told.low, 0.0), above=above, deciding=deciding)


def _deciding(
    readings: Readings, contacts: np.ndarray[tuple[int, int], np.dtype[np.float64]], face: str
) -> tuple[Place, ...]:
    """The places that some contacts lie at."""
    stations = [station for station in readings.stations if station.face == face]
    found = []
    for x, y in contacts[:, :2]:
        nearest = min(stations, key=lambda station: (station.x - x) ** 2 + (station.y - y) ** 2)
        found.append(place_of(nearest))
    return tuple(dict.fromkeys(found))


def with_survey(files: Mapping[str, bytes], readings: Readings) -> dict[str, bytes]:
    """A job's files with the readings as its survey.

    Raises:
        SlabwrightError: a face has no reading.
    """
    from slabwright.job.load import job_from, toml_from
    from slabwright.reading.taking import survey_files

    stated = job_from(toml_from(files[JOB_FILE], JOB_FILE))
    made, values = survey_files(
        readings.as_begun(),
        stated.job.units,
        names=files.keys(),
        after=readings.after,
        rereadings=len(stated.rereadings),
    )
    slab = stated.slab
    if slab is not None and not readings.after:
        # What the slab had been read with before does not hold for the new readings.
        gone = ("survey_a", "survey_b", "callipers")
        values |= {f"slab.{key}": None for key in gone if getattr(slab, key) is not None}
        if slab.marks:
            values["slab.marks"] = None
        if readings.made_outline:
            values |= {f"slab.{key}": None for key in ("outline_a", "outline_b") if getattr(slab, key) is not None}
    whole = {**files, **made}
    whole[JOB_FILE] = changed(whole, JOB_FILE, values)
    return whole
