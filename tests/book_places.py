"""Where the tests keep their shop books: each test runs on SQLite and, where there is a server, on PostgreSQL."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from bench.private_server import NoServer, new_database
from PIL import Image

KINDS = ("sqlite", "postgresql")
JOB = b'# by hand\n[job]\ntitle = "Reading table"\nclient = "A library"  # invented\n'
FILES = {"job.toml": JOB, "survey.csv": b"face,x,y,z\nA,0,0,50\n", "photos/face-a.raw": bytes(range(256))}


def new_place(kind: str, folder: Path, encoding: str = "UTF8") -> str:
    """Address of a book that is not there yet; without a server the test is skipped."""
    if kind == "sqlite":
        return str(folder / "book.sqlite")
    try:
        return new_database(encoding=encoding)
    except NoServer as reason:
        pytest.skip(str(reason))


def photo(kind: str = "JPEG", size: tuple[int, int] = (60, 40), mode: str = "RGB", **more: Any) -> bytes:
    """Left half red, right half blue."""
    image = Image.new("RGB", size, "blue")
    image.paste("red", (0, 0, size[0] // 2, size[1]))
    out = io.BytesIO()
    image.convert(mode).save(out, kind, **more)
    return out.getvalue()
