"""What the bench's own conversation and its pages share: which places are read, what a reading means, the files in the end."""

from __future__ import annotations

from collections.abc import Collection
from statistics import median

from slabwright.findings import SlabwrightError
from slabwright.job.models import Slab
from slabwright.quantities import INCH, Units, parse_length
from slabwright.reading.begun import Begun
from slabwright.reading.stations import Station, stations

FAR_OFF = 10.0
"""A reading farther than this from what those around it lead to expect is asked for again [mm]: common practice."""
_INSIDE = 2.0


def all_stations(slab: Slab | None, begun: Begun, units: Units) -> list[Station]:
    """The places that are read, in the order in which they are.

    Args:
        slab: its margins keep the places inside the part that will be flat
        begun: how the readings are laid out
        units: places fall on whole millimetres, or on quarters of an inch
    """
    end, edge = (slab.end_trim, slab.edge_margin) if slab else (25.0, 10.0)
    step = INCH / 4.0 if units == "inch" else 1.0
    # A margin is measured square to a live edge, a station across the grain: a little more keeps it inside.
    edge += _INSIDE
    every = stations(begun.corners(), begun.along, begun.across, end_inset=end, edge_inset=edge, step=step)
    return [station for station in every if station.at_edge or station.face not in begun.edges_only]


def expected(begun: Begun, station: Station) -> float | None:
    """The height that those around a place lead to expect [mm]; None where too little is read.

    On its own face the middle of the nearest four; before that, on face B, face A's height there less the usual thickness.
    """
    same = sorted(
        (abs(taken.x - station.x) + abs(taken.y - station.y), taken.z)
        for taken in begun.taken
        if taken.face == station.face and taken.z is not None
    )[:4]
    if len(same) >= 2 or (same and station.face == "A"):
        return median(height for _, height in same)
    heights = {(taken.face, taken.x, taken.y): taken.z for taken in begun.taken if taken.z is not None}
    top = heights.get(("A", station.x, station.y))
    if station.face == "A" or top is None:
        return None
    gaps = [
        upper - lower for (face, x, y), upper in heights.items() if face == "A" and (lower := heights.get(("B", x, y)))
    ]
    # Before anything of face B is read, only a height above the top is a slip for certain.
    return top - median(gaps) if gaps else min(top, FAR_OFF) if top < FAR_OFF else None


def height_above_bed(typed: str, line: float, units: Units) -> float:
    """Height above the bed that was typed, up from it or down from a level line [mm].

    Args:
        typed: a length; a plain number is in the job's units
        line: height of the level line above the bed [mm]; 0: it was measured up from the bed
        units: of the job

    Raises:
        QuantityError: it is no length.
    """
    value = parse_length(typed, "in" if units == "inch" else "mm")
    return line - value if line else value


def free_name(stem: str, names: Collection[str]) -> str:
    """A file name that is not taken: survey.csv, survey-2.csv, ..."""
    number = 1
    while (name := f"{stem}.csv" if number == 1 else f"{stem}-{number}.csv") in names:
        number += 1
    return name


def _csv(rows: list[tuple[object, ...]], header: str) -> bytes:
    return (header + "\n" + "".join(",".join(map(str, row)) + "\n" for row in rows)).encode()


def survey_files(
    begun: Begun, units: Units, *, names: Collection[str], after: str | None = None, rereadings: int = 0
) -> tuple[dict[str, bytes], dict[str, object]]:
    """The survey, and the outline where it was made for the readings, as files; and what the job file then says.

    Args:
        begun: the readings
        units: that the files are written in
        names: of files that are there already
        after: `rough A`, `rough B` or `skim A`: a re-reading, which the plan goes on from
        rereadings: how many the job has already

    Returns:
        Bytes by file name, the survey first; values by key of the job file.

    Raises:
        SlabwrightError: a face has no reading.
    """
    unit = INCH if units == "inch" else 1.0
    rows: list[tuple[object, ...]] = [
        (taken.face, f"{taken.x / unit:.8g}", f"{taken.y / unit:.8g}", f"{taken.z / unit:.8g}")
        for taken in sorted(begun.taken, key=lambda taken: (taken.face, taken.x, taken.y))
        if taken.z is not None
    ]
    if {row[0] for row in rows} != {"A", "B"}:
        raise SlabwrightError("both faces want at least some readings; read the other face, or begin anew")
    survey = free_name("survey", names)
    files = {survey: _csv(rows, "face,x,y,z")}
    values: dict[str, object]
    if after:
        values = {f"rereadings[{rereadings}]": {"survey": survey, "after": after}}
    else:
        values = {"slab.survey": survey, "slab.survey_units": "in" if units == "inch" else "mm"}
    if begun.made_outline:
        name = free_name("outline", names)
        corners: list[tuple[object, ...]] = [(f"{x / unit:.8g}", f"{y / unit:.8g}") for x, y in begun.outline]
        files[name] = _csv(corners, "x,y")
        values["slab.outline"] = name
    return files, values
