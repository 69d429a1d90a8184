"""The files that pages load, known by name from the start: own ones, and those that packages bring."""

from __future__ import annotations

import gzip
import hashlib
import importlib.util
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import Response

from slabwright.findings import SlabwrightError
from slabwright.sheets.fonts import font_folder

_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".ttf": "font/ttf",
    ".webmanifest": "application/manifest+json",
}
_FONTS = {"text-regular.ttf": "SourceSansPro-Regular.ttf", "text-bold.ttf": "SourceSansPro-Bold.ttf"}
_PACKAGED = {
    "htmx.js": ("django_htmx", "static/django_htmx/htmx-2.min.js"),
    "plotly.js": ("plotly", "package_data/plotly.min.js"),
}


@dataclass(frozen=True)
class Asset:
    """A file that pages load.

    Attributes:
        kind: media type
        data: as it is
        packed: gzipped
        mark: of its content
    """

    kind: str
    data: bytes
    packed: bytes
    mark: str


def _packaged(package: str, inner: str) -> Path:
    found = importlib.util.find_spec(package)
    if found is None or found.origin is None:
        raise SlabwrightError(f"The pages want the Python package {package}; install slabwright with its parts.")
    return Path(found.origin).parent / inner


@cache
def asset_paths() -> Mapping[str, Path]:
    """Where each asset lies, by the name under which pages load it."""
    own = Path(str(files("slabwright.web") / "static"))
    paths = {path.name: path for path in sorted(own.iterdir()) if path.suffix in _TYPES}
    paths |= {name: font_folder() / font for name, font in _FONTS.items()}
    paths |= {name: _packaged(*where) for name, where in _PACKAGED.items()}
    return paths


@cache
def asset(name: str) -> Asset | None:
    """An asset by its name; None where there is none."""
    path = asset_paths().get(name)
    if path is None:
        return None
    data = path.read_bytes()
    mark = hashlib.sha256(data).hexdigest()[:16]
    return Asset(_TYPES[path.suffix], data, gzip.compress(data, 6, mtime=0), mark)


def address(name: str) -> str:
    """The address of an asset; it changes with the content.

    Raises:
        KeyError: there is no such asset (a fault of this program)
    """
    found = asset(name)
    if found is None:
        raise KeyError(name)
    return f"/static/{name}?{found.mark}"


router = APIRouter(include_in_schema=False)


@router.get("/static/{name}")
def static(name: str, request: Request) -> Response:
    """One of the known files."""
    found = asset(name)
    if found is None:
        return Response("there is no such file", status_code=404, media_type="text/plain")
    known = request.url.query == found.mark
    headers = {
        "etag": f'"{found.mark}"',
        "cache-control": "public, max-age=31536000, immutable" if known else "no-cache",
        "vary": "accept-encoding",
    }
    if request.headers.get("if-none-match") == headers["etag"]:
        return Response(status_code=304, headers=headers)
    if "gzip" in request.headers.get("accept-encoding", ""):
        return Response(found.packed, media_type=found.kind, headers=headers | {"content-encoding": "gzip"})
    return Response(found.data, media_type=found.kind, headers=headers)
