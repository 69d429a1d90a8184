"""The conversation at the bench: one station at a time, with redo, skip and stop."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from slabwright.findings import SlabwrightError
from slabwright.job import load_job
from slabwright.job.loaded import Job
from slabwright.job.write import set_values
from slabwright.quantities import QuantityError, Units, format_length, parse_length
from slabwright.reading.begun import NAME, Begun, Taken, put_aside, resumed
from slabwright.reading.stations import Station, tapered_outline
from slabwright.reading.taking import FAR_OFF, all_stations, expected, height_above_bed, survey_files
from slabwright.written import written_beside

_FAR_WIDTH = 1.5
_HELP = """  Type a height and press Enter. Or:
    redo    take the last reading back and read it again; redo 4: that of the fourth place
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


def _width(ask: Ask, say: Say, prompt: str, units: Units, before: float) -> float:
    """A width, asked for again where it is far from the one before."""
    width = _length(ask, say, prompt, units, before)
    if not before / _FAR_WIDTH <= width <= before * _FAR_WIDTH:
        told = f"      {format_length(width, units)} beside {format_length(before, units)}. Enter keeps it; or type it again: "
        width = _length(ask, say, told, units, width)
    return width


def _begin(job: Job, path: Path, along: int, across: int, ask: Ask, say: Say) -> Begun:
    """Begin the readings: from the job's outline, or from the slab's length and three widths."""
    slab, units = job.stated.slab, job.stated.job.units
    outline = None if job.readings is None else job.readings.outline_a
    if outline is None:
        planned = slab.planned if slab else None
        say("Lay the slab on the bed, face A up. x runs along the grain from one end, y across from the middle line.")
        length = _length(ask, say, "Length of the slab, end to end: ", units, planned.length if planned else None)
        near = _length(ask, say, "Width at the end where x = 0: ", units, planned.width if planned else None)
        middle = _width(ask, say, "Width half way (Enter: the same): ", units, near)
        far = _width(ask, say, "Width at the far end (Enter: the same): ", units, middle)
        corners = tapered_outline(length, (near, middle, far))
    else:
        corners = outline
    begun = Begun(path, along, across, corners.tolist(), outline is None)
    begun.start()
    return begun


def _all_stations(job: Job, begun: Begun) -> list[Station]:
    return all_stations(job.stated.slab, begun, job.stated.job.units)


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


def _take_height(begun: Begun, station: Station, typed: str, units: Units, ask: Ask, say: Say) -> None:
    """Keep a typed height, once it is a length and not far off its neighbours, or was typed or confirmed again."""
    line = begun.lines.get(station.face, 0.0)
    confirmed = False
    while True:
        try:
            z = height_above_bed(typed, line, units)
        except QuantityError as error:
            say(f"  {error}; or type help")
            return
        wanted = expected(begun, station)
        above_top = any(
            taken.face == "A" and (taken.x, taken.y) == (station.x, station.y) and taken.z is not None and z >= taken.z
            for taken in begun.taken
            if station.face == "B"
        )
        off = None if wanted is None else z - wanted
        if confirmed or not (above_top or (off is not None and abs(off) > FAR_OFF)):
            break
        what = (
            "not below face A there"
            if above_top or off is None
            else (f"{format_length(abs(off), units)} {'above' if off > 0 else 'below'} its neighbours")
        )
        answer = ask(
            f"      that is {format_length(_typed_value(typed, units), units)}, {what}. Enter keeps it; or type it again: "
        )
        if answer == "stop":
            raise _Stopped
        confirmed = not answer
        typed = answer or typed
    begun.take(Taken(station.face, station.x, station.y, z, typed))
    if "/" in typed or not typed.replace(".", "").isdigit():
        say(f"      = {format_length(_typed_value(typed, units), units)}")


def _typed_value(typed: str, units: Units) -> float:
    return parse_length(typed, "in" if units == "inch" else "mm")


def _redo(job: Job, begun: Begun, number: str, say: Say) -> None:
    """Take the last reading back, or that of the place with a number."""
    every = _all_stations(job, begun)
    if not number:
        if begun.taken:
            begun.take_back()
        else:
            say("  nothing has been read yet")
    elif number.isdigit() and 1 <= int(number) <= len(every):
        place = every[int(number) - 1]
        begun.forget(place.face, place.x, place.y)
    else:
        say(f"  there are places 1 to {len(every)}")


def _read_station(job: Job, begun: Begun, station: Station, prompt: str, units: Units, ask: Ask, say: Say) -> None:
    """Take one reading, or do what was asked for instead."""
    typed = ask(prompt)
    word, _, rest = typed.lower().partition(" ")
    if word in ("stop", "quit"):
        raise _Stopped
    if word in ("help", ""):
        say(_HELP)
    elif word == "redo":
        _redo(job, begun, rest.strip(), say)
    elif word == "skip":
        begun.take(Taken(station.face, station.x, station.y, None, typed))
    elif word == "edges":
        begun.leave_middle(station.face)
    elif word == "line":
        entered = rest or ask("      height of the level line above the bed (0: up from the bed again): ")
        try:
            begun.measure_from(station.face, max(0.0, _typed_value(entered, units)))
        except QuantityError as error:
            say(f"  {error}")
    else:
        _take_height(begun, station, typed, units, ask, say)


def _finish(job: Job, job_path: Path, begun: Begun, after: str | None) -> list[str]:
    """Write the survey, name it in the job file, and take the readings begun away."""
    folder = job_path.parent
    files, values = survey_files(
        begun,
        job.stated.job.units,
        names={path.name for path in folder.iterdir()},
        after=after,
        rereadings=len(job.stated.rereadings),
    )
    for name, data in files.items():
        written_beside(folder / name, data)
    set_values(job_path, values)
    begun.path.unlink()
    return list(files)


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
    if again and (aside := put_aside(path)):
        say(f"The readings begun are put aside as {aside.name}.")
    try:
        if path.exists():
            begun = resumed(path)
            say(f"Going on where you stopped: {len(begun.taken)} readings are kept.")
        else:
            begun = _begin(job, path, along, across, ask, say)
        say(f"{begun.along} x {begun.across} stations a face. Type a height, or redo, skip, line, edges, stop, help.")
        say(
            "Rows go to and fro: row 1 begins at the near edge, row 2 at the far edge, and so on; each prompt says which."
        )
        face = ""
        while (following := _next(job, begun)) is not None:
            station, number, count = following
            if station.face != face:
                face = station.face
                say(
                    "Face A, the top as it lies."
                    if face == "A"
                    else "Face B, the underside: the same places, its height above the bed taken from below."
                )
            prompt = _prompt(station, number, count, units, begun.lines.get(face, 0.0))
            _read_station(job, begun, station, prompt, units, ask, say)
    except (_Stopped, KeyboardInterrupt):
        how = f' --after "{after}"' if after else ""
        say(f"\nStopped; what was read is kept. Go on with: slabwright read {job_path}{how}")
        return
    files = _finish(job, job_path, begun, after)
    say(f"Done: {', '.join(files)} written and named in {job_path.name}. Next: slabwright sheets {job_path}")
    say(f"A figure can still be mended in {files[0]} with any editor.")


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
