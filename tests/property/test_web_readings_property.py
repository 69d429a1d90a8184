"""Readings that come over a bad link: whatever is sent again, late or out of turn, each counts once and none is lost."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.book_places import FILES

from slabwright.book import open_book
from slabwright.reading.stations import stations, tapered_outline
from slabwright.web.readings_journal import Journals, Place, place_of

OUTLINE = tapered_outline(1200.0, (500.0, 450.0))
STATIONS = stations(OUTLINE, 3, 2, end_inset=20.0, edge_inset=15.0)
PLACES = [place_of(station) for station in STATIONS]

places = st.sampled_from(PLACES)
acts = st.sampled_from(["take", "take", "take", "skip", "clear"])
entries = st.lists(st.tuples(places, acts, st.integers(0, 900)), min_size=1, max_size=25)


def lines_of(drawn: list[tuple[Place, str, int]]) -> list[dict[str, Any]]:
    return [
        {
            "id": f"entry-{number:04d}",
            "act": act,
            "face": place[0],
            "row": place[1],
            "column": place[2],
            "typed": str(tenths / 10),
            "z": tenths / 10 if act == "take" else None,
        }
        for number, (place, act, tenths) in enumerate(drawn)
    ]


def told(lines: list[dict[str, Any]]) -> dict[Place, float | None]:
    """What the lines say, each once and in the order in which they first came."""
    found: dict[Place, float | None] = {}
    seen: set[str] = set()
    for line in lines:
        if line["id"] in seen:
            continue
        seen.add(line["id"])
        place = (line["face"], line["row"], line["column"])
        found.pop(place, None)
        if line["act"] != "clear":
            found[place] = line["z"]
    return found


@contextmanager
def begun() -> Iterator[tuple[Journals, Path]]:
    """Readings begun in a book of their own, and its place."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "book.sqlite"
        with open_book(place) as book:
            book.add(FILES, "test", "")
            journals = Journals(book.readings)
            journals.begin(
                1,
                along=3,
                across=2,
                outline=OUTLINE.tolist(),
                made_outline=True,
                after=None,
                stations=STATIONS,
                who="test",
            )
            yield journals, place


def heights(journals: Journals) -> dict[Place, float | None]:
    found = journals.read(1)
    assert found is not None
    return {place: taken.z for place, taken in found.taken.items()}


@settings(max_examples=60)
@given(drawn=entries, data=st.data())
def test_each_counts_once_however_often_it_comes(drawn: list[tuple[Place, str, int]], data: st.DataObject) -> None:
    lines = lines_of(drawn)
    with begun() as (journals, _):
        arrived: list[dict[str, Any]] = []
        sent = 0
        # The device sends from the first that was not acknowledged; answers get lost, and late copies come in between.
        while sent < len(lines):
            upto = data.draw(st.integers(sent + 1, len(lines)))
            batch = lines[sent:upto]
            journals.add(1, batch)
            arrived += batch
            late = data.draw(st.lists(st.sampled_from(lines[:upto]), max_size=3))
            journals.add(1, late)
            arrived += late
            sent = upto if data.draw(st.booleans()) else data.draw(st.integers(sent, upto))
            if len(arrived) > 200:
                sent = upto
        assert heights(journals) == told(arrived) == told(lines)


@settings(max_examples=25)
@given(drawn=entries, data=st.data())
def test_a_crash_anywhere_loses_nothing_that_was_acknowledged(
    drawn: list[tuple[Place, str, int]], data: st.DataObject
) -> None:
    lines = lines_of(drawn)
    with begun() as (journals, place):
        acknowledged = data.draw(st.integers(0, len(lines)))
        journals.add(1, lines[:acknowledged])
        # The next batch breaks off in its midst: the database gives it up whole.
        with pytest.raises(KeyError):
            journals.add(1, [*lines[acknowledged:], {"act": "take"}])
        with tempfile.TemporaryDirectory() as elsewhere:
            # What is on the disk at that moment, as a power cut leaves it: the file and its log.
            for part in place.parent.iterdir():
                shutil.copy(part, elsewhere)
            with open_book(Path(elsewhere) / place.name) as book:
                after = Journals(book.readings)
                assert heights(after) == told(lines[:acknowledged])
                # The device has no answer, so it sends all of them again.
                after.add(1, lines)
                assert heights(after) == told(lines)
