"""Sheets made aside: begun from a page, watched while they are drawn, and kept for a while as files with known names."""

from __future__ import annotations

import io
import logging
import tempfile
import threading
import zipfile
from collections import OrderedDict
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from slabwright.findings import SlabwrightError
from slabwright.sheets.edition import Edition, plan_in
from slabwright.web.planning import Planned, Planner

_KEPT = 4
_LOG = logging.getLogger("slabwright.web")


@dataclass
class Making:
    """Sheets of one revision.

    Attributes:
        state: not begun, drawing, done or failed
        step: what is being drawn
        files: bytes by name, once done
        error: why they could not be made
    """

    state: Literal["none", "drawing", "done", "failed"] = "none"
    step: str = ""
    files: Mapping[str, bytes] = field(default_factory=dict)
    error: str = ""


class SheetsMaker:
    """Makes sheets on a thread of its own, one job after the other.

    Args:
        planner: works out the whole plan, with the shop's days
    """

    def __init__(self, planner: Planner) -> None:
        self._planner = planner
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="sheets")
        self._lock = threading.Lock()
        self._makings: OrderedDict[tuple[str, Edition], Making] = OrderedDict()

    def of(self, planned: Planned, edition: Edition) -> Making:
        """How far the sheets of a revision are: another one with the same files has sheets of its own."""
        with self._lock:
            return self._makings.get((planned.digest, edition), Making())

    def begin(self, planned: Planned, edition: Edition) -> Making:
        """Begin to make the sheets of a revision, unless they are made or being made.

        Args:
            planned: what follows from it
            edition: which it is

        Raises:
            SlabwrightError: there is no plan.
        """
        if planned.result is None:
            raise SlabwrightError(planned.refused)
        with self._lock:
            key = (planned.digest, edition)
            making = self._makings.get(key)
            if making is None or making.state == "failed":
                making = self._makings[key] = Making("drawing", "Waiting for its turn")
                self._pool.submit(_make, self._planner, planned, edition, making)
            self._makings.move_to_end(key)
            for old in list(self._makings)[: max(0, len(self._makings) - _KEPT)]:
                if self._makings[old].state != "drawing":
                    del self._makings[old]
            return making

    def close(self) -> None:
        """Let the thread go."""
        self._pool.shutdown(wait=False, cancel_futures=True)


def _make(planner: Planner, known: Planned, edition: Edition, making: Making) -> None:
    from slabwright.sheets.all_files import write_all

    def told(step: str) -> None:
        making.step = step

    try:
        told("Working out the shop's days")
        planned = planner.whole(known.files) or known
        if planned.result is None:
            raise SlabwrightError(planned.refused)
        with tempfile.TemporaryDirectory(prefix="slabwright-sheets-") as folder:
            out = Path(folder)
            write_all(plan_in(planned.result, edition), out, told)
            making.files = {
                path.relative_to(out).as_posix(): path.read_bytes() for path in sorted(out.rglob("*")) if path.is_file()
            }
        making.state = "done"
    except SlabwrightError as error:
        making.error, making.state = " ".join(str(error).split()), "failed"
    except Exception:
        _LOG.exception("sheets could not be made")
        making.error = "a fault of this program, not of yours; the server's own log tells more"
        making.state = "failed"


def zipped(files: Mapping[str, bytes], folder: str) -> bytes:
    """Files in a folder of one zip, the same bytes each time."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in sorted(files):
            archive.writestr(zipfile.ZipInfo(f"{folder}/{name}"), files[name], zipfile.ZIP_DEFLATED)
    return held.getvalue()
