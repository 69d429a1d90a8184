"""Paths that a job file names: they stay within the job's folder."""

from __future__ import annotations

from pathlib import Path

from slabwright.findings import SlabwrightError

LARGEST_FILE = 300_000_000
"""Bytes; a file beyond is refused before it is read."""


def shown(text: str, most: int = 40) -> str:
    """A piece of someone's text, quoted, on one line and cut to a readable length."""
    quoted = repr(text if len(text) <= most else text[: most - 1] + "…")
    return "".join(character if character.isprintable() else "?" for character in quoted)


def inside(folder: Path, name: str, key: str) -> Path:
    """The file that a job names, with links followed, once it is known to lie in the job's folder.

    Args:
        folder: the job's folder
        name: the path as it was stated, relative to the folder
        key: where it was stated, as the message is to say it: `job.toml:7: slab.survey`

    Raises:
        SlabwrightError: the file lies outside the folder, is missing, is no plain file or is larger than 300 MB.
    """
    if not name.strip():
        raise SlabwrightError(f"{key}: the file name is empty; name a file in the job's folder, or leave the key out")
    try:
        home = folder.resolve()
        path = (home / name).resolve()
        within = path.is_relative_to(home)
        found, plain = path.exists(), path.is_file()
        size = path.stat().st_size if plain else 0
    except (OSError, ValueError, RuntimeError):
        raise SlabwrightError(
            f"{key}: {shown(name)} can't be used as a file name; name a file in the job's folder"
        ) from None
    if not within:
        raise SlabwrightError(
            f"{key}: {shown(name)} lies outside the job's folder; copy the file into it and name it from there"
        )
    if not found:
        raise SlabwrightError(
            f"{key}: there is no file {shown(name)} in the job's folder; check the name, or copy it there"
        )
    if not plain:
        raise SlabwrightError(f"{key}: {shown(name)} is not a file; name the file itself")
    if size > LARGEST_FILE:
        raise SlabwrightError(
            f"{key}: {shown(name)} holds {size / 1e6:.0f} MB, at most {LARGEST_FILE / 1e6:.0f} MB are read;"
            " thin the readings out"
        )
    return path
