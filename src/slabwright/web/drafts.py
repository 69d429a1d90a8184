"""Put what one draft changed on top of what others saved since."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

from slabwright.findings import SlabwrightError
from slabwright.job.write import with_values

_GONE = object()


def on_top(newest: Mapping[str, bytes], base: Mapping[str, bytes], draft: Mapping[str, bytes]) -> dict[str, bytes]:
    """The newest files with what a draft changed against the revision that it was made from.

    Args:
        newest: files of the newest revision
        base: files of the revision that the draft rests on
        draft: files of the draft

    Raises:
        SlabwrightError: what the draft changed has no place in the newest files any more.
    """
    files = dict(newest)
    for name in sorted({*base, *draft}):
        was, wanted = base.get(name), draft.get(name)
        if was == wanted:
            continue
        if wanted is None:
            files.pop(name, None)
        elif was is not None and name in files and name.endswith(".toml"):
            files[name] = _keys_on_top(name, files[name], was, wanted)
        else:
            files[name] = wanted
    return files


def _keys_on_top(name: str, newest: bytes, was: bytes, wanted: bytes) -> bytes:
    try:
        tables = [tomllib.loads(data.decode("utf-8-sig").replace("\r\n", "\n")) for data in (was, wanted)]
    except ValueError as error:
        raise SlabwrightError(f"{name}: the draft cannot be read; set it aside") from error
    changes = dict(_changes(tables[0], tables[1], ""))
    return with_values(newest.decode("utf-8-sig"), changes, name).encode() if changes else newest


def _changes(was: Mapping[str, Any], wanted: Mapping[str, Any], way: str) -> list[tuple[str, Any]]:
    """What was changed by key: tables are gone into, lists are taken whole."""
    found: list[tuple[str, Any]] = []
    for key in [*was, *(key for key in wanted if key not in was)]:
        here = f"{way}.{key}" if way else key
        old, new = was.get(key, _GONE), wanted.get(key, _GONE)
        if isinstance(old, dict) and isinstance(new, dict):
            found += _changes(old, new, here)
        elif old != new:
            found.append((here, None if new is _GONE else new))
    return found
