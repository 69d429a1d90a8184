"""Readings that are being taken on a page: each is on the disk before it is acknowledged, and counts once however often it comes.

A reading carries an id that its device gave it, and a line whose id was there before says nothing. What was put aside, or has
become a survey, stays in the book.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from slabwright.book.readings import BegunRow, ReadingsBegun
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


class Journals:
    """The readings that are being taken, as the pages see them.

    Args:
        kept: the book's own
    """

    def __init__(self, kept: ReadingsBegun) -> None:
        self._kept = kept

    def read(self, job: int) -> Readings | None:
        """The readings begun in a job; None where there are none.

        Raises:
            SlabwrightError: there is no such job.
        """
        row = self._kept.of(job)
        return None if row is None else readings_of(row)

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
            SlabwrightError: some are begun already.
        """
        begun = secrets.token_hex(8)
        head = {
            "begun": begun,
            "along": along,
            "across": across,
            "outline": outline,
            "made_outline": made_outline,
            "after": after,
            "stations": [[s.face, s.row, s.column, s.x, s.y] for s in stations],
            "who": who,
        }
        self._kept.begin(job, begun, head, who)
        return _first(head)

    def add(self, job: int, lines: Iterable[Mapping[str, Any]]) -> Readings:
        """Keep lines; when this returns they are on the disk. A line whose id is known already says nothing.

        Raises:
            SlabwrightError: none are begun.
        """
        return readings_of(self._kept.add(job, lines))

    def put_aside(self, job: int, begun: str) -> None:
        """Close the readings, so that others can be begun; nothing where others are begun by now."""
        self._kept.close(job, begun)


def readings_of(row: BegunRow) -> Readings:
    """Readings as far as their lines tell.

    Raises:
        ValueError, TypeError, KeyError: the lines are damaged.
    """
    return _grown(_first(row.head), row.lines)


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


def _grown(before: Readings, lines: Iterable[Mapping[str, Any]]) -> Readings:
    """The readings with more lines."""
    ids, edges, taken = set(before.ids), set(before.edges_only), dict(before.taken)
    stations = {place_of(station): station for station in before.stations}
    for line in lines:
        if line["id"] in ids:
            continue
        ids.add(str(line["id"]))
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
    return replace(before, taken=taken, edges_only=frozenset(edges), ids=frozenset(ids))
