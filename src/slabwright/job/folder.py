"""A job's folder as a set of named files: read and written whole, with names that stay within it."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from slabwright.findings import SlabwrightError
from slabwright.job.paths import LARGEST_FILE, shown
from slabwright.written import written_beside

JOB_FILE = "job.toml"
MOST_FILES = 2_000
LARGEST_FOLDER = 1_000_000_000
"""Bytes of all files of a job together."""
_WRITTEN_BY_PLAN = "plan.json"
_DRIVE = re.compile(r"[A-Za-z]:")


@dataclass(frozen=True)
class JobFolder:
    """What a job's folder holds.

    Attributes:
        files: bytes of each file by its name, with `/` between folders
        left_out: what was not read: hidden files, and folders that hold a plan, which can be made again
    """

    files: Mapping[str, bytes]
    left_out: tuple[str, ...]


def checked_name(name: str) -> str:
    """A file's name within a job's folder, once it is known to stay there on any machine.

    Args:
        name: with `/` between folders, such as `photos/face-a.jpg`

    Raises:
        SlabwrightError: the name is empty or absolute, leads out of the folder, or cannot be written everywhere.
    """
    parts = name.split("/")
    if not name or name.startswith("/") or _DRIVE.match(name):
        wrong = "is empty" if not name else "is a path from the machine's root"
    elif ".." in parts:
        wrong = "leads out of the job's folder"
    elif "" in parts or "." in parts:
        wrong = "has an empty part"
    elif "\\" in name or not all(0x20 <= ord(c) != 0x7F and not 0xD800 <= ord(c) <= 0xDFFF for c in name):
        wrong = "has a backslash, or a sign that cannot be printed"
    elif any(len(part.encode()) > 255 for part in parts) or len(name.encode()) > 1000:
        wrong = "is too long"
    else:
        return name
    raise SlabwrightError(f"file name {shown(name, 60)} {wrong}; name it like survey.csv or photos/face-a.jpg")


def checked_files(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """A job's files in the order of their names, once they are known to make a folder.

    Raises:
        SlabwrightError: there is no job file, a name leads out of the folder or stands in the way of another, or it is too much.
    """
    if JOB_FILE not in files:
        raise SlabwrightError(f"there is no {JOB_FILE} among the files; a job is a folder with its {JOB_FILE}")
    if len(files) > MOST_FILES:
        raise SlabwrightError(f"{len(files)} files are too many for a job; at most {MOST_FILES} are kept")
    folders: dict[str, str] = {}
    for name in files:
        checked_name(name)
        at = name.rfind("/")
        while at > 0:
            folders.setdefault(name[:at], name)
            at = name.rfind("/", 0, at)
    for name, data in files.items():
        if name in folders:
            raise SlabwrightError(
                f"file name {shown(name, 60)} is also the folder of {shown(folders[name], 60)}; rename one"
            )
        if len(data) > LARGEST_FILE:
            raise SlabwrightError(f"{shown(name, 60)} {_too_large(len(data))}")
    if sum(map(len, files.values())) > LARGEST_FOLDER:
        raise SlabwrightError(f"the job's files are together over {LARGEST_FOLDER / 1e9:.0f} GB; thin the readings out")
    return {name: bytes(files[name]) for name in sorted(files)}


def read_folder(folder: Path | str) -> JobFolder:
    """Read a job's folder: every plain file, those in folders within too.

    Hidden files (their name begins with a dot) and folders that hold a `plan.json` are left out, and told. A link is read as the
    file that it leads to, which must lie within the folder.

    Raises:
        SlabwrightError: there is no such folder or no job file in it, a link leads out of it, or a file cannot be read.
    """
    home = Path(folder)
    quoted = shown(str(folder), 100)
    try:
        if not home.is_dir():
            raise SlabwrightError(f"{quoted}: there is no such folder; name the folder that holds {JOB_FILE}")
        resolved = home.resolve()
        if not (home / JOB_FILE).is_file():
            raise SlabwrightError(f"{quoted}: there is no {JOB_FILE} in this folder; name the job's own folder")
        files: dict[str, bytes] = {}
        left_out: list[str] = []
        size = 0
        for path, name, kept in _walked(home, resolved):
            if not kept:
                left_out.append(name)
                continue
            if len(files) >= MOST_FILES:
                raise SlabwrightError(f"{quoted}: holds over {MOST_FILES} files; name the job's own folder")
            files[checked_name(name)] = data = _read(path, name)
            size += len(data)
            if size > LARGEST_FOLDER:
                raise SlabwrightError(f"{quoted}: holds over {LARGEST_FOLDER / 1e9:.0f} GB; name the job's own folder")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be used"
        place = shown(str(getattr(error, "filename", None) or folder), 100)
        raise SlabwrightError(f"{place}: cannot be read ({reason}); check its name and who may read it") from error
    return JobFolder(checked_files(files), tuple(sorted(left_out)))


def _walked(home: Path, resolved: Path) -> Iterator[tuple[Path, str, bool]]:
    """Each entry below a folder with its name, and whether it belongs to the job."""
    waiting = [home]
    while waiting:
        for path in sorted(waiting.pop().iterdir()):
            name = path.relative_to(home).as_posix()
            if path.name.startswith("."):
                yield path, name, False
            elif path.is_symlink():
                if not path.resolve().is_relative_to(resolved) or not path.is_file():
                    raise SlabwrightError(
                        f"{shown(name, 60)} is a link that leads to no file within the job's folder; put the file itself there"
                    )
                yield path, name, True
            elif path.is_dir():
                if (path / _WRITTEN_BY_PLAN).is_file():
                    yield path, f"{name}/", False
                else:
                    waiting.append(path)
            else:
                yield path, name, path.is_file()


def _read(path: Path, name: str) -> bytes:
    with path.open("rb") as stream:
        data = stream.read(LARGEST_FILE + 1)
    if len(data) > LARGEST_FILE:
        raise SlabwrightError(f"{shown(name, 60)} {_too_large(path.stat().st_size)}")
    return data


def _too_large(size: int) -> str:
    return f"holds {size / 1e6:.0f} MB, at most {LARGEST_FILE / 1e6:.0f} MB are kept; thin the readings out"


def write_folder(folder: Path | str, files: Mapping[str, bytes]) -> Path:
    """Write a job's files into a folder that is new or empty: all of them, or none.

    Args:
        folder: to be made; the one above it is made where there is none
        files: bytes of each file by its name

    Raises:
        SlabwrightError: the folder holds something, a name leads out of it, or it cannot be written.
    """
    home = Path(folder)
    quoted = shown(str(folder), 100)
    checked = checked_files(files)
    beside: Path | None = None
    try:
        if home.is_symlink() or (home.exists() and not home.is_dir()):
            raise SlabwrightError(f"{quoted} is no folder; name one that is new or empty")
        if home.exists() and any(home.iterdir()):
            raise SlabwrightError(f"{quoted} holds something already; name a folder that is new or empty")
        home.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(dir=home.parent, prefix=f".{home.name[:40]}-", suffix=".part"))
        for name, data in checked.items():
            path = beside / name
            path.parent.mkdir(parents=True, exist_ok=True)
            written_beside(path, data)
        beside.chmod(home.stat().st_mode & 0o777 if home.exists() else 0o777 & ~_umask())
        beside.replace(home)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be used"
        raise SlabwrightError(f"{quoted}: cannot be written ({reason}); name another folder") from error
    finally:
        if beside is not None and beside.exists():
            shutil.rmtree(beside, ignore_errors=True)
    return home


def _umask() -> int:
    """What this process takes away from the rights of new files; it can be learnt only by setting it."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
