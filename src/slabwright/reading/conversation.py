"""The conversation at the bench: one station at a time, with redo, skip and stop."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from statistics import median

from slabwright.findings import SlabwrightError
from slabwright.job import load_job
from slabwright.job.loaded import Job
from slabwright.job.write import set_values
from slabwright.quantities import QuantityError, Units, format_length, parse_length
from slabwright.reading.begun import NAME, Begun, Taken, resumed
from slabwright.reading.stations import Station, stations, tapered_outline
from slabwright.written import written_beside

_FAR_OFF = 25.0
"""A reading farther than this from those around it is asked for again [mm]."""
_HELP = """  Type a height and press Enter. Or:
    redo    take the last reading back and read it again
    skip    this place cannot be reached
    line    this face is measured down from a level line; 0 goes back to up from the bed
    edges   the middle of this face cannot be reached: only its two long edges are read
    stop    stop here; the same command goes on from this place
    help    this"""

Ask = Callable[[str], str]
Say = Callable[[str], None]


def _ask(prompt: str) -> str:
    """One line from the person, or from a file; the end of it means stop."""
    sys.stdout.write(prompt)
    sys.stdout.flush()
    line = sys.stdin.readline()
    return line.strip() if line else "stop"


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")


class _Stopped(Exception):  # noqa: N818
    """The person wants to stop here."""


def _length(ask: Ask, say: Say, prompt: str, units: Units, default: float | None = None) -> float:
    """A length above zero, asked for until it is one."""
    while True:
        typed = ask(prompt)
        if typed == "stop":
            raise _Stopped
        if not typed and default is not None:
            return default
        try:
            value = parse_length(typed, "in" if units == "inch" else "mm")
        except QuantityError as error:
            say(f"  {error}")
            continue
        if value > 0:
            return value
        say("  write a length above zero")


def _begin(job: Job, path: Path, along: int, across: int, ask: Ask, say: Say) -> Begun:
    """Begin the readings: from the job's outline, or from the slab's length and three widths."""
    slab, units = job.stated.slab, job.stated.job.units
    outline = None if job.readings is None else job.readings.outline_a
    if outline is None:
        planned = slab.planned if slab else None
        say("Lay the slab on the bed, face A up. x runs along the grain from one end, y across from the middle line.")
        length = _length(ask, say, "Length of the slab, end to end: ", units, planned.length if planned else None)
        near = _length(ask, say, "Width at the end where x = 0: ", units, planned.width if planned else None)
        middle = _length(ask, say, "Width half way (Enter: the same): ", units, near)
        far = _length(ask, say, "Width at the far end (Enter: the same): ", units, middle)
        corners = tapered_outline(length, (near, middle, far))
    else:
        corners = outline
    begun = Begun(path, along, across, corners.tolist(), outline is None)
    begun.start()
    return begun


def _all_stations(job: Job, begun: Begun) -> list[Station]:
    slab = job.stated.slab
    end, edge = (slab.end_trim, slab.edge_margin) if slab else (25.0, 10.0)
    every = stations(begun.corners(), begun.along, begun.across, end_inset=end, edge_inset=edge)
    return [station for station in every if station.at_edge or station.face not in begun.edges_only]


def _next(job: Job, begun: Begun) -> tuple[Station, int, int] | None:
    """The next station with its number and how many there are; None when all are read."""
    every = _all_stations(job, begun)
    read = {(taken.face, taken.x, taken.y) for taken in begun.taken}
    for number, station in enumerate(every, start=1):
        if (station.face, station.x, station.y) not in read:
            return station, number, len(every)
    return None


def _prompt(station: Station, number: int, count: int, units: Units, line: float) -> str:
    where = "near edge" if station.column == 1 else "far edge" if station.column == station.columns else "middle"
    if station.columns > 3 and not station.at_edge:
        where = f"place {station.column} of {station.columns}"
    x, y = format_length(station.x, units, None), format_length(station.y, units, None)
    how = "down from the line" if line else "up from the bed"
    return f"{number:>3}/{count}  face {station.face}, row {station.row} of {station.rows}, {where}: x {x}, y {y}, {how} > "


def _odd(begun: Begun, station: Station, z: float) -> float | None:
    """How far a height is off those already read around it on its face; None where that is nothing unusual."""
    near = sorted(
        (abs(taken.x - station.x) + abs(taken.y - station.y), taken.z)
        for taken in begun.taken
        if taken.face == station.face and taken.z is not None
    )[:4]
    if len(near) < 2:
        return None
    off = z - median(height for _, height in near)
    return off if abs(off) > _FAR_OFF else None


def _read_station(begun: Begun, station: Station, prompt: str, units: Units, ask: Ask, say: Say) -> None:
    """Take one reading, or do what was asked for instead."""
    line = begun.lines.get(station.face, 0.0)
    typed = ask(prompt)
    word = typed.lower()
    if word in ("stop", "quit"):
        raise _Stopped
    if word == "help" or not word:
        say(_HELP)
    elif word == "redo":
        if begun.taken:
            begun.take_back()
        else:
            say("  nothing has been read yet")
    elif word == "skip":
        begun.take(Taken(station.face, station.x, station.y, None, typed))
    elif word == "edges":
        begun.leave_middle(station.face)
    elif word == "line":
        entered = ask("      height of the level line above the bed (0: up from the bed again): ")
        try:
            begun.measure_from(station.face, max(0.0, parse_length(entered, "in" if units == "inch" else "mm")))
        except QuantityError as error:
            say(f"  {error}")
    else:
        try:
            value = parse_length(typed, "in" if units == "inch" else "mm")
        except QuantityError as error:
            say(f"  {error}; or type help")
            return
        z = line - value if line else value
        off = _odd(begun, station, z)
        if off is not None:
            side = "above" if off > 0 else "below"
            answer = ask(
                f"      {format_length(abs(off), units)} {side} its neighbours. Enter keeps it; or type it again: "
            )
            if answer == "stop":
                raise _Stopped
            if answer:
                try:
                    value = parse_length(answer, "in" if units == "inch" else "mm")
                except QuantityError as error:
                    say(f"  {error}")
                    return
                z, typed = (line - value if line else value), answer
        begun.take(Taken(station.face, station.x, station.y, z, typed))


def _free_name(folder: Path, stem: str) -> str:
    """A file name that is not taken: survey.csv, survey-2.csv, ..."""
    number = 1
    while (folder / (name := f"{stem}.csv" if number == 1 else f"{stem}-{number}.csv")).exists():
        number += 1
    return name


def _csv(rows: list[tuple[object, ...]], header: str) -> bytes:
    return (header + "\n" + "".join(",".join(map(str, row)) + "\n" for row in rows)).encode()


def _finish(job: Job, job_path: Path, begun: Begun, after: str | None) -> list[str]:
    """Write the survey, name it in the job file, and take the readings begun away."""
    units = job.stated.job.units
    unit = 25.4 if units == "inch" else 1.0
    rows: list[tuple[object, ...]] = [
        (taken.face, f"{taken.x / unit:.8g}", f"{taken.y / unit:.8g}", f"{taken.z / unit:.8g}")
        for taken in sorted(begun.taken, key=lambda taken: (taken.face, taken.x, taken.y))
        if taken.z is not None
    ]
    if {row[0] for row in rows} != {"A", "B"}:
        raise SlabwrightError(
            "both faces want at least some readings; type redo to go back, or start anew with --again"
        )
    folder = job_path.parent
    survey = _free_name(folder, "survey")
    written_beside(folder / survey, _csv(rows, "face,x,y,z"))
    values: dict[str, object]
    if after:
        values = {f"rereadings[{len(job.stated.rereadings)}]": {"survey": survey, "after": after}}
    else:
        values = {"slab.survey": survey, "slab.survey_units": "in" if units == "inch" else "mm"}
    if begun.made_outline:
        name = _free_name(folder, "outline")
        corners: list[tuple[object, ...]] = [(f"{x / unit:.8g}", f"{y / unit:.8g}") for x, y in begun.outline]
        written_beside(folder / name, _csv(corners, "x,y"))
        values["slab.outline"] = name
    set_values(job_path, values)
    begun.path.unlink()
    return [survey, *([str(values["slab.outline"])] if begun.made_outline else [])]


def read_by_hand(
    job_path: Path,
    *,
    along: int,
    across: int,
    again: bool = False,
    after: str | None = None,
    ask: Ask = _ask,
    say: Say = _say,
) -> None:
    """Take readings one station at a time; each is kept at once, and a stop goes on where it was.

    Args:
        job_path: the job file; at the end it names the survey
        along: rows of stations along the grain
        across: stations in a row
        again: forget the readings begun
        after: `rough A`, `rough B` or `skim A`: a re-reading, which the plan goes on from
        ask: puts a question and gives the answer
        say: tells something

    Raises:
        SlabwrightError: the job has no slab, has readings already, or a file cannot be used.
    """
    job = load_job(job_path)
    slab, units = job.stated.slab, job.stated.job.units
    if slab is None:
        raise SlabwrightError(f"{job_path.name}: there is no [slab] to read; state its species first")
    if (slab.survey or slab.survey_a) and not after:
        raise SlabwrightError(
            f"{job_path.name}: slab.survey names readings already; take the key out to read anew, "
            "or add a re-reading with --after 'rough A'"
        )
    path = job_path.parent / NAME
    if again:
        path.unlink(missing_ok=True)
    try:
        if path.exists():
            begun = resumed(path)
            say(f"Going on where you stopped: {len(begun.taken)} readings are kept.")
        else:
            begun = _begin(job, path, along, across, ask, say)
        say(f"{begun.along} x {begun.across} stations a face. Type a height, or redo, skip, line, edges, stop, help.")
        face = ""
        while (following := _next(job, begun)) is not None:
            station, number, count = following
            if station.face != face:
                face = station.face
                say(
                    "Face A, the top as it lies."
                    if face == "A"
                    else "Face B, the underside: the same places, measured from below."
                )
            prompt = _prompt(station, number, count, units, begun.lines.get(face, 0.0))
            _read_station(begun, station, prompt, units, ask, say)
    except _Stopped:
        say(f"\nStopped; what was read is kept. Go on with: slabwright read {job_path}")
        return
    files = _finish(job, job_path, begun, after)
    say(f"Done: {', '.join(files)} written and named in {job_path.name}. Next: slabwright sheets {job_path}")


def enter_check(job_path: Path, words: str, say: Say = _say) -> None:
    """Enter what was found while working: `A skim straightedge 0.4`, `B skim thickness 41.2`, `A skim winding 1/32 in`.

    Raises:
        SlabwrightError: the words are not of that form.
    """
    job = load_job(job_path)
    kinds = {"straightedge": "straightedge", "winding": "winding sticks", "thickness": "thickness"}
    parts = words.split(maxsplit=3)
    right = "write such as 'A skim straightedge 0.4', 'B skim thickness 41.2' or 'A rough winding 1/32 in'"
    if (
        len(parts) != 4
        or parts[0].upper() not in ("A", "B")
        or parts[1] not in ("rough", "skim")
        or parts[2] not in kinds
    ):
        raise SlabwrightError(f"--check {words!r}: {right}")
    try:
        parse_length(parts[3], "in" if job.stated.job.units == "inch" else "mm")
    except QuantityError as error:
        raise SlabwrightError(f"--check {words!r}: {error}") from None
    value: object = parts[3]
    try:
        value = float(parts[3])
    except ValueError:
        value = parts[3]
    entry = {"face": parts[0].upper(), "after": parts[1], "kind": kinds[parts[2]], "value": value}
    set_values(job_path, {f"checks[{len(job.stated.checks)}]": entry})
    say(f"entered in {job_path.name}; the plan follows it: slabwright plan {job_path}")
