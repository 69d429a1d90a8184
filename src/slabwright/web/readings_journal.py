"""Readings that are being taken on a page: each is on the disk before it is acknowledged, and counts once however often it comes.

Each job has one journal, a file of lines that only grows; a reading carries an id that its device gave it, and a line whose id
was there before says nothing. What was put aside, or has become a survey, is kept under another name.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import threading
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from slabwright.findings import SlabwrightError
from slabwright.reading.begun import Begun, Taken
from slabwright.reading.stations import Station

Place = tuple[str, int, int]
"""Face, row and column of a station."""


@dataclass(frozen=True)
class Readings:
    """Readings begun in a job, as far as they have come.

    Attributes:
        begun: their own id: what comes late for others is told apart by it
        along: rows of stations along the grain
        across: stations in a row
        outline: of the slab [mm]
        made_outline: whether it was made from length and widths
        after: the cut that a re-reading follows; None where the slab is read as it came
        stations: every place, in the order in which they are read
        taken: what was read, by place; a height of None was skipped
        edges_only: faces whose middle cannot be reached
        ids: of every line
        who: began them
    """

    begun: str
    along: int
    across: int
    outline: list[list[float]]
    made_outline: bool
    after: str | None
    stations: tuple[Station, ...]
    who: str
    taken: dict[Place, Taken] = field(default_factory=dict)
    edges_only: frozenset[str] = frozenset()
    ids: frozenset[str] = frozenset()

    @property
    def wanted(self) -> list[Station]:
        """The stations that are to be read."""
        return [one for one in self.stations if one.at_edge or one.face not in self.edges_only]

    def station(self, place: Place) -> Station | None:
        """The station at a place; None where there is none."""
        return next((one for one in self.stations if place_of(one) == place), None)

    def as_begun(self) -> Begun:
        """The same as the bench's own conversation has it."""
        return Begun(
            Path("readings"),
            self.along,
            self.across,
            self.outline,
            self.made_outline,
            taken=list(self.taken.values()),
            edges_only=sorted(self.edges_only),
        )


def place_of(station: Station) -> Place:
    """Where a station is."""
    return station.face, station.row, station.column


_turn = threading.Lock()
"""One line after the other, whoever writes it."""


class Journals:
    """The journals of a book's jobs.

    Args:
        folder: where they are kept; made when the first is begun
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def _path(self, job: int) -> Path:
        return self._folder / f"job-{job}.jsonl"

    def read(self, job: int) -> Readings | None:
        """The readings begun in a job; None where there are none.

        Raises:
            SlabwrightError: the journal is damaged or cannot be read.
        """
        path = self._path(job)
        try:
            text = path.read_text(encoding="utf-8")
        except FileNotFoundError:
            return None
        except (OSError, UnicodeDecodeError):
            raise SlabwrightError(f"{path} cannot be read; look after the disk, or move the file away") from None
        # A line that was cut off by a power cut was never acknowledged; its device sends it again.
        lines = text.split("\n")[:-1]
        try:
            found, _ = _grown(_first(json.loads(lines[0])), [json.loads(line) for line in lines[1:] if line])
        except (ValueError, TypeError, KeyError, IndexError, AttributeError):
            raise SlabwrightError(f"{path} is damaged; move the file away, and begin the readings anew") from None
        return found

    def begin(
        self,
        job: int,
        *,
        along: int,
        across: int,
        outline: list[list[float]],
        made_outline: bool,
        after: str | None,
        stations: Iterable[Station],
        who: str,
    ) -> Readings:
        """Begin readings.

        Raises:
            SlabwrightError: some are begun already, or the journal cannot be written.
        """
        head = {
            "begun": secrets.token_hex(8),
            "along": along,
            "across": across,
            "outline": outline,
            "made_outline": made_outline,
            "after": after,
            "stations": [[s.face, s.row, s.column, s.x, s.y] for s in stations],
            "who": who,
            "at": datetime.now(UTC).isoformat(timespec="seconds"),
        }
        with _turn:
            if self._path(job).exists():
                raise SlabwrightError("readings are begun already; go on with them, or put them aside first")
            self._append(job, [head])
        return _first(head)

    def add(self, job: int, lines: Iterable[Mapping[str, Any]]) -> Readings:
        """Keep lines; when this returns they are on the disk. A line whose id is known already says nothing.

        Raises:
            SlabwrightError: none are begun, or the journal cannot be written.
        """
        with _turn:
            found = self.read(job)
            if found is None:
                raise SlabwrightError("no readings are begun; begin them first")
            found, new = _grown(found, lines)
            if new:
                self._append(job, new)
        return found

    def put_aside(self, job: int, begun: str) -> None:
        """Keep the journal under another name, so that others can be begun; nothing where others are begun by now.

        Raises:
            SlabwrightError: the folder cannot be written.
        """
        with _turn:
            found = self.read(job)
            if found is None or found.begun != begun:
                return
            path = self._path(job)
            try:
                path.replace(path.with_name(f"job-{job}-{re.sub('[^0-9a-f]', '', begun)}.jsonl"))
            except OSError as error:
                raise SlabwrightError(f"{path}: cannot be put aside ({error.strerror}); free its folder") from None

    def _append(self, job: int, lines: Iterable[Mapping[str, Any]]) -> None:
        path = self._path(job)
        try:
            self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            text = "".join(json.dumps(line) + "\n" for line in lines)
            handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND, 0o600)
            with os.fdopen(handle, "a+b") as file:
                file.seek(0)
                whole = file.read()
                file.truncate(whole.rfind(b"\n") + 1)  # a line that was cut off was never acknowledged
                file.write(text.encode())
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            raise SlabwrightError(
                f"{path}: cannot be written ({error.strerror}); nothing that was sent is lost"
            ) from None


def _first(head: Mapping[str, Any]) -> Readings:
    along, across = int(head["along"]), int(head["across"])
    return Readings(
        begun=str(head["begun"]),
        along=along,
        across=across,
        outline=[[float(x), float(y)] for x, y in head["outline"]],
        made_outline=bool(head["made_outline"]),
        after=head["after"],
        stations=tuple(
            Station(face, int(row), int(column), along, across, float(x), float(y))
            for face, row, column, x, y in head["stations"]
        ),
        who=str(head["who"]),
    )


def _grown(before: Readings, lines: Iterable[Mapping[str, Any]]) -> tuple[Readings, list[dict[str, Any]]]:
    """The readings with more lines, and which of the lines say something new."""
    ids, edges, taken = set(before.ids), set(before.edges_only), dict(before.taken)
    stations = {place_of(station): station for station in before.stations}
    new = []
    for line in lines:
        if line["id"] in ids:
            continue
        ids.add(str(line["id"]))
        new.append(dict(line))
        act, face = line["act"], line["face"]
        if act == "edges":
            edges.add(face)
        elif act == "middle":
            edges.discard(face)
        else:
            place = (face, int(line["row"]), int(line["column"]))
            taken.pop(place, None)
            station = stations.get(place)
            if station is not None and act != "clear":
                z = None if line["z"] is None else float(line["z"])
                taken[place] = Taken(station.face, station.x, station.y, z, str(line["typed"]))
    return replace(before, taken=taken, edges_only=frozenset(edges), ids=frozenset(ids)), new
