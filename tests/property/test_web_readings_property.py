"""Readings that come over a bad link: whatever is sent again, late or out of turn, each counts once and none is lost."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

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


def begun(folder: Path) -> Journals:
    journals = Journals(folder)
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
    return journals


def heights(journals: Journals) -> dict[Place, float | None]:
    found = journals.read(1)
    assert found is not None
    return {place: taken.z for place, taken in found.taken.items()}


@settings(max_examples=60)
@given(drawn=entries, data=st.data())
def test_each_counts_once_however_often_it_comes(drawn: list[tuple[Place, str, int]], data: st.DataObject) -> None:
    lines = lines_of(drawn)
    with tempfile.TemporaryDirectory() as folder:
        journals = begun(Path(folder))
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


@settings(max_examples=60)
@given(drawn=entries, data=st.data())
def test_a_power_cut_anywhere_loses_nothing_that_was_acknowledged(
    drawn: list[tuple[Place, str, int]], data: st.DataObject
) -> None:
    lines = lines_of(drawn)
    with tempfile.TemporaryDirectory() as folder:
        journals = begun(Path(folder))
        acknowledged = data.draw(st.integers(0, len(lines) - 1))
        journals.add(1, lines[:acknowledged])
        path = Path(folder) / "job-1.jsonl"
        safe = path.stat().st_size
        journals.add(1, lines[acknowledged:])
        whole = path.read_bytes()
        cut = data.draw(st.integers(safe, len(whole)))
        path.write_bytes(whole[:cut])
        kept = whole[:cut].count(b"\n") - 1
        assert kept >= acknowledged
        assert heights(journals) == told(lines[:kept])
        # The device has no answer, so it sends all of them again.
        journals.add(1, lines[acknowledged:])
        assert heights(journals) == told(lines)
