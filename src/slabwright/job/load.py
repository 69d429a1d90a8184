"""Load a job: its job file, the shop file, the readings that it names, and where each key was stated."""

from __future__ import annotations

import datetime
import functools
import os
import pickle
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from slabwright.findings import SlabwrightError
from slabwright.job.loaded import Job, Place, Readings
from slabwright.job.models import JobFile, ShopFile, Slab
from slabwright.job.paths import inside, shown
from slabwright.job.places import Key, places, written
from slabwright.job.troubles import validated

if TYPE_CHECKING:
    from slabwright.job.history import LoggedHours
    from slabwright.quantities import Units

LARGEST = 4 * 1024 * 1024
"""Bytes of the largest job or shop file that is read; nobody types more."""
JOB_FILE = "job.toml"
SHOP_FILE = "shop.toml"
_TEXTS = 12
"""Texts of which it is kept what they state."""
_PATHS = ("survey", "survey_a", "survey_b", "callipers", "outline", "outline_a", "outline_b")


@dataclass(frozen=True)
class Source:
    """A TOML file that was read: its name in messages, what it states, and the line of each key."""

    name: str
    stated: dict[str, Any]
    lines: Mapping[Key, int]


def load_job(path: Path | str) -> Job:
    """Load a job with its shop file and its readings.

    The shop file is `shop.toml` beside the job, or `slabwright/shop.toml` in the user's config folder; without one its defaults
    hold.

    Args:
        path: the job file

    Returns:
        The job, with lengths in mm; a job without a survey has no readings.

    Raises:
        SlabwrightError: something cannot be used: names the file and line, the key, what is wrong and what would be right.
    """
    file = Path(path)
    source = read_toml(file, file.name)
    folder = Path(os.path.abspath(file.parent))  # noqa: PTH100 - links are followed only when paths are checked
    return _loaded(source, folder, lambda units: load_shop(folder, units))


def load_job_from(files: Mapping[str, bytes], folder: Path) -> Job:
    """Load a job from the bytes of its job and shop file, with its other files in a folder.

    Args:
        files: by name; of these the job file and, if there is one, the shop file are read
        folder: holds all the others; a shop file there is passed by

    Raises:
        SlabwrightError: see `load_job`
    """

    def shop(units: Units) -> tuple[ShopFile, Source | None]:
        if SHOP_FILE not in files:
            return load_general_shop(units)
        source = toml_from(files[SHOP_FILE], SHOP_FILE)
        return shop_from(source, units), source

    return _loaded(toml_from(files[JOB_FILE], JOB_FILE), folder, shop, own_shop=SHOP_FILE in files)


def _loaded(
    source: Source,
    folder: Path,
    shop_of: Callable[[Units], tuple[ShopFile, Source | None]],
    *,
    own_shop: bool | None = None,
) -> Job:
    """A job from its job file.

    Args:
        source: the job file
        folder: of the job
        shop_of: the shop file that holds for a job in some units
        own_shop: whether the job has a shop file of its own; None: whether one lies in the folder
    """
    stated = job_from(source)
    shop, shop_source = shop_of(stated.job.units)
    where = {written(key): Place(source.name, line) for key, line in source.lines.items()}
    if shop_source:
        shop_lines = shop_source.lines.items()
        where |= {f"shop:{written(key)}": Place(shop_source.name, line) for key, line in shop_lines}
    _check_files(stated, source, folder)
    plain = "in" if stated.job.units == "inch" else "mm"
    readings = _readings(stated.slab, folder, source.name, where, plain)
    rereadings = [
        _readings(_read_again(stated.slab, again.survey), folder, source.name, where, plain, number)
        for number, again in enumerate(stated.rereadings)
    ]
    read_again = tuple(r for r in rereadings if r is not None)
    logged = _history(shop, folder, where, os.path.lexists(folder / SHOP_FILE) if own_shop is None else own_shop)
    return Job(stated, shop, readings, read_again, where, folder, source.name, logged)


def read_toml(path: Path, name: str) -> Source:
    """Read a TOML file, and where its keys stand.

    Args:
        path: the file
        name: what messages call it

    Raises:
        SlabwrightError: there is no such file, it is no text or no TOML, or it is far too large.
    """
    return toml_from(read_bytes(path), name)


def read_bytes(path: Path) -> bytes:
    """Bytes of a job or shop file, up to one more than may be.

    Raises:
        SlabwrightError: there is no such file, or it cannot be read.
    """
    quoted = shown(str(path), 100)
    try:
        if path.is_dir():
            raise SlabwrightError(f"{quoted} is a folder; name the job file in it, such as job.toml")
        if not path.exists():
            raise SlabwrightError(f"{quoted}: there is no such file; `slabwright new` makes a job to start from")
        if not path.is_file():
            raise SlabwrightError(f"{quoted} is no plain file; name the job file itself")
        with path.open("rb") as stream:
            return stream.read(LARGEST + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be used"
        raise SlabwrightError(f"{quoted}: cannot be read ({reason}); check its name and who may read it") from error


def toml_from(data: bytes, name: str) -> Source:
    """What a TOML file's bytes state, and where its keys stand.

    Raises:
        SlabwrightError: it is no text or no TOML, or it is far too large.
    """
    if len(data) > LARGEST:
        raise SlabwrightError(
            f"{name}: is larger than 4 MB, so it is no job or shop file; readings go into a file of their own"
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise SlabwrightError(
            f"{name}:{line}: is not text in UTF-8; save it as UTF-8 text, or name the right file"
        ) from error
    text = text.replace("\r\n", "\n")
    if not text.strip():
        raise SlabwrightError(f"{name}: is empty; `slabwright new` makes a job to start from")
    try:
        packed, lines = _read(text)
        return Source(name, pickle.loads(packed), lines)
    except RecursionError as error:
        raise SlabwrightError(f"{name}: has brackets within brackets without end; close each [ with its ]") from error
    except ValueError as error:
        raise SlabwrightError(_broken(name, text, str(error))) from error


_MOMENT = re.compile(r"=\s*(?P<day>\d{4}-\d{2}-\d{2})(?P<clock>[T ]\d{2}:\d{2}(?::\d{2})?)?\s*(?:#.*)?$")
"""A line that gives a key a day or a moment without quotes."""


@functools.lru_cache(maxsize=_TEXTS)
def _read(text: str) -> tuple[bytes, Mapping[Key, int]]:
    """What a TOML text states, packed so that each who asks has a copy of its own, and where its keys stand.

    A text is read several times on its way from an edit to a plan; the last ones are kept.
    """
    return pickle.dumps(tomllib.loads(text)), MappingProxyType(places(text))


def stated_in(text: str) -> dict[str, Any]:
    """What a TOML text states.

    Raises:
        ValueError: it is no TOML.
        RecursionError: it has brackets within brackets without end.
    """
    packed, _ = _read(text)
    found: dict[str, Any] = pickle.loads(packed)
    return found


def _moment_meant(text: str, line: int) -> str:
    """What is wrong with a day or a moment written without quotes on a line; nothing where there is none."""
    lines = text.split("\n")
    found = _MOMENT.search(lines[line - 1]) if 0 < line <= len(lines) else None
    if found is None:
        return ""
    day, clock = found["day"], found["clock"]
    try:
        datetime.date.fromisoformat(day)
    except ValueError:
        return f"there is no such day as {day}; a day is written year-month-day, such as 2026-12-03"
    if clock is not None and len(clock) == len("T10:00"):
        return f'a moment without seconds stands in quotes: "{day}{clock}"; or add the seconds: {day}{clock}:00'
    return ""


def _broken(name: str, text: str, reason: str) -> str:
    """One line about TOML that cannot be read; the place moves from the reader's words to the front."""
    what, _, place = reason.partition(" (at ")
    words = place.rstrip(")").replace(",", "").split()
    line = int(words[1]) if len(words) > 1 and words[1].isdigit() else text.count("\n") + 1
    if "integer string conversion" in what:
        what = "a number has thousands of digits"
    what = "".join(c if c.isprintable() else "?" for c in what)[:100]
    meant = _moment_meant(text, line)
    if meant:
        return f"{name}:{line}: {meant}"
    return f'{name}:{line}: is not TOML: {what}; a line is `key = value`, text stands in "quotes", lists in [ ]'


def job_from(source: Source) -> JobFile:
    """The job file's model, from what was read.

    Raises:
        SlabwrightError: a key is unknown or missing, or a value cannot be used.
    """
    head = source.stated.get("job")
    units = head.get("units") if isinstance(head, dict) else None
    return validated(JobFile, source.stated, source.lines, source.name, "inch" if units == "inch" else "metric")


def shop_from(source: Source, job_units: Units) -> ShopFile:
    """The shop file's model, from what was read.

    Raises:
        SlabwrightError: a key is unknown, a value cannot be used, or an inch job has a shop file that does not say its units.
    """
    units = source.stated.get("units")
    if job_units == "inch" and units is None and source.stated:
        raise SlabwrightError(
            f'{source.name}:1: units is missing; an inch job wants its shop file to say units = "inch" or "metric", '
            "on the first line"
        )
    return validated(ShopFile, source.stated, source.lines, source.name, "inch" if units == "inch" else "metric")


def general_shop_file() -> Path:
    """Where the user's one shop file for every job would be, in the config folder."""
    stated = os.environ.get("XDG_CONFIG_HOME", "")
    home = stated if os.path.isabs(stated) else os.path.join(os.path.expanduser("~"), ".config")  # noqa: PTH111, PTH117, PTH118
    return Path(home) / "slabwright" / SHOP_FILE


def load_shop(folder: Path, job_units: Units) -> tuple[ShopFile, Source | None]:
    """The shop file that holds for a job's folder, and where it was read from; defaults where there is none.

    Raises:
        SlabwrightError: it cannot be used.
    """
    if os.path.lexists(folder / SHOP_FILE):
        source = read_toml(folder / SHOP_FILE, SHOP_FILE)
        return shop_from(source, job_units), source
    return load_general_shop(job_units)


def load_general_shop(job_units: Units) -> tuple[ShopFile, Source | None]:
    """The user's one shop file for every job, and where it was read from; defaults where there is none.

    Raises:
        SlabwrightError: it cannot be used.
    """
    general = general_shop_file()
    if os.path.lexists(general):
        source = read_toml(general, str(general))
        return shop_from(source, job_units), source
    return ShopFile.model_validate({"units": job_units}, context={"units": job_units}), None


def _history(shop: ShopFile, folder: Path, where: Mapping[str, Place], own_shop: bool) -> tuple[LoggedHours, ...]:
    """Hours of earlier jobs, from the file that the shop file names beside itself."""
    if shop.history.file is None:
        return ()
    from slabwright.job.history import history

    beside = folder if own_shop else general_shop_file().parent
    place = where.get("shop:history.file")
    stated = f"{place.file}:{place.line}" if place else SHOP_FILE
    return history(beside, shop.history.file, f"{stated}: history.file")


def _check_files(stated: JobFile, source: Source, folder: Path) -> None:
    """Check that every file which the job names lies in the job's folder, links followed, and is there."""
    named: list[tuple[Key, str]] = []
    if stated.slab:
        named += [(("slab", key), value) for key in _PATHS if (value := getattr(stated.slab, key)) is not None]
    named += [(("rereadings", number, "survey"), again.survey) for number, again in enumerate(stated.rereadings)]
    for key, value in sorted(named, key=lambda pair: source.lines.get(pair[0], 1)):
        inside(folder, value, f"{source.name}:{source.lines.get(key, 1)}: {written(key)}")


def _readings(
    slab: Slab | None, folder: Path, file: str, where: Mapping[str, Place], plain: str, again: int | None = None
) -> Readings | None:
    """The readings that a slab names; plain figures are in `plain`; of a re-reading its number, for errors."""
    if slab is None or not (slab.survey or (slab.survey_a and slab.survey_b)):
        return None
    from slabwright.job.readings import load_readings

    keys = None if again is None else {"survey": f"rereadings[{again}].survey"}
    return load_readings(
        slab.model_copy(update={"survey_units": slab.survey_units or plain}), folder, file, where, keys
    )


def _read_again(slab: Slab | None, survey: str) -> Slab | None:
    """The slab with another survey in place of its own; what tied its two set-ups does not hold for the new one."""
    if slab is None:
        return None
    changes: dict[str, object] = {"survey": survey, "survey_a": None, "survey_b": None, "callipers": None, "marks": []}
    return slab.model_copy(update=changes)
