"""Whatever happens to a job's files, planning it gives a plan or one plain line; never a warning, a traceback or a nan."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.findings import SlabwrightError
from slabwright.job import load_job
from slabwright.plan import Plan, as_json, plan
from slabwright.spoken import spoken

EXAMPLES = Path(__file__).parents[2] / "examples"
FEW = int(os.environ.get("SLABWRIGHT_FUZZ", "20"))
"""Cases of each test; SLABWRIGHT_FUZZ=2000 looks for longer."""
QUICK = settings(deadline=None, max_examples=FEW)
CASES = [
    ("hall-desk", "job.toml"),
    ("hall-desk", "survey.csv"),
    ("hall-desk", "outline.csv"),
    ("window-bench", "job.toml"),
    ("window-bench", "callipers.csv"),
]
WORDS = [
    b"",
    b",",
    b"\n",
    b"nan",
    b"inf",
    b"-",
    b"1e999",
    b"0",
    b"9",
    b"e9",
    b".",
    b'"',
    b"#",
    b"\0",
    b"\xff",
    b" ",
    b"A",
    b"[",
    b"=",
]


@contextmanager
def job_folder(example: str) -> Iterator[Path]:
    """A job like an example's; a folder with as few readings as will do, so that many can be tried."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / example
        shutil.copytree(EXAMPLES / example, home)
        for survey in home.glob("face-*.csv"):
            lines = survey.read_text(encoding="utf-8").splitlines(keepends=True)
            survey.write_text("".join(lines[:2] + lines[2::6]), encoding="utf-8")
        yield home


def planned_or_refused(home: Path) -> Plan | None:
    """The plan of a job, or None where it is refused in one line."""
    try:
        result = plan(load_job(home / "job.toml"))
    except SlabwrightError as refusal:
        message = str(refusal)
        assert message.isprintable() and 20 < len(message) < 700
        return None
    text = json.dumps(as_json(result), allow_nan=False)
    said = spoken(result)
    for silly in ("nan", "-0.0 ", "-0 ", "inf "):
        assert f" {silly}" not in f" {said} ", said
    assert "-0.0," not in text and "-0.0}" not in text
    return result


@pytest.mark.parametrize(("example", "name"), CASES)
@QUICK
@given(data=st.data())
def test_slips_in_any_file(example: str, name: str, data: st.DataObject) -> None:
    with job_folder(example) as home:
        edited = bytearray((home / name).read_bytes())
        for _ in range(data.draw(st.integers(1, 3))):
            at = data.draw(st.integers(0, len(edited)))
            length = data.draw(st.integers(0, 6))
            edited[at : at + length] = data.draw(st.sampled_from(WORDS) | st.binary(max_size=3))
        (home / name).write_bytes(bytes(edited))
        planned_or_refused(home)


@pytest.mark.parametrize(("example", "name"), CASES)
@QUICK
@given(data=st.data())
def test_lines_lost_doubled_or_moved(example: str, name: str, data: st.DataObject) -> None:
    with job_folder(example) as home:
        lines = (home / name).read_bytes().splitlines(keepends=True)
        for _ in range(data.draw(st.integers(1, 4))):
            at = data.draw(st.integers(0, len(lines)))
            until = data.draw(st.integers(at, len(lines)))
            to = data.draw(st.integers(0, len(lines)))
            taken = lines[at:until]
            what = data.draw(st.sampled_from(["lose", "double", "move"]))
            if what != "double":
                del lines[at:until]
            if what != "lose":
                lines[to:to] = taken
            lines = lines[:200]
        (home / name).write_bytes(b"".join(lines))
        planned_or_refused(home)


NUMBERS = st.sampled_from(["0", "-1", "1e-9", "1e5", "-99999", "0.001", "25400", "50", "7/8", "12 1/2"]) | st.floats(
    -1e5, 1e5
).map(lambda value: f"{value:.6g}")


@pytest.mark.parametrize(
    ("example", "name"), [case for case in CASES if case[1].endswith(".csv")] + [("window-bench", "face-b.csv")]
)
@QUICK
@given(data=st.data())
def test_wrong_numbers_in_right_places(example: str, name: str, data: st.DataObject) -> None:
    with job_folder(example) as home:
        lines = (home / name).read_text(encoding="utf-8").splitlines()
        for _ in range(data.draw(st.integers(1, 3))):
            at = data.draw(st.integers(2, len(lines) - 1))
            cells = lines[at].split(",")
            cells[data.draw(st.integers(0, len(cells) - 1))] = data.draw(NUMBERS)
            lines[at] = ",".join(cells)
        (home / name).write_text("\n".join(lines), encoding="utf-8")
        planned_or_refused(home)


LENGTHS = st.sampled_from(["0", "-1", "1", "10", "50", "100", "500", "1e5", '"1/16 in"', '"max"', "true"]) | st.floats(
    -3e3, 3e3
).map(lambda value: f"{value:.5g}")
KEYS = {
    "piece": ["length", "width", "height", "thickness"],
    "slab": ["edge_margin", "end_trim", "cut_from", "cut_to", "reading_error"],
    "fill": ["price_per_litre", "price_per_visible_area", "least_depth", "underside_price_per_litre", "choose"],
    "slab.planned": ["length", "width", "thickness"],
}
SHOP_KEYS = {
    "machine": ["cutter_diameter", "corner_radius", "stepover", "greatest_depth", "last_depth", "feed", "down_force"],
    "bed": ["length", "width", "pad_diameter", "pads_along", "pads_across"],
    "shims": ["most_pieces"],
    "allowance": ["marks_and_sanding", "rest", "rest_days"],
    "epoxy": ["greatest_pour", "waste", "density"],
}


@QUICK
@given(data=st.data())
def test_any_sizes_in_a_job_and_a_shop(data: st.DataObject) -> None:
    with job_folder("hall-desk") as home:
        units = data.draw(st.sampled_from(["metric", "inch"]))
        for file, tables in (("job.toml", KEYS), ("shop.toml", SHOP_KEYS)):
            lines = [f'units = "{units}"'] if file == "shop.toml" else ["[job]", 'title = "T"', f'units = "{units}"']
            for table, keys in tables.items():
                lines.append(f"[{table}]")
                if table == "slab":
                    lines += [
                        'species = "walnut, black"',
                        'survey = "survey.csv"',
                        'survey_units = "in"',
                        'outline = "outline.csv"',
                    ]
                if table == "slab.planned":
                    lines += [f"{key} = 50" for key in keys]
                    continue
                chosen = data.draw(st.lists(st.sampled_from(keys), unique=True, max_size=2))
                lines += [f"{key} = {data.draw(LENGTHS)}" for key in chosen]
                if table == "fill":
                    lines.append("client_agrees = true")
            (home / file).write_text("\n".join(lines) + "\n", encoding="utf-8")
        planned_or_refused(home)
