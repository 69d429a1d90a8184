"""Whatever stands in a job file, it is a job or one plain line; whatever is changed in one, the rest stays as it was."""

from __future__ import annotations

import itertools
import tempfile
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.findings import SlabwrightError
from slabwright.job import Job, JobFile, load_job
from slabwright.job.load import job_from, shop_from, toml_from
from slabwright.job.places import headers, places
from slabwright.job.starter import Answers, shop_starter, starter
from slabwright.job.write import with_values

GOOD = """\
# An invented job.
[job]
title = "Reading table"  # as the client says
units = "metric"
date = 2026-11-25

[piece]
length = "2.2 m"
thickness = "max"
base = "U legs"

# Where it stands.
[room]
dry = { temperature = 20, humidity = 35 }   # winter
damp = { temperature = 22, humidity = 60 }

[slab]
species = "ash, white"
cut_from = -50
# cut_to = 2000
lay.supports = [530, "1.87 m"]

[slab.moisture]
core = [ 9.8,  # pith
  10.1,        # bark
]

[[slab.defects]]   # the big one
kind = "knot"
at = [905, -210]
diameter = 38

[[slab.defects]]
kind = "check"
outline = [[0, 60], [140, 72]]
width = '1/16"'
depth = "through"

[fill]
price_per_litre = 95.0
"""
SHOP = shop_starter().replace("# feed", "feed").replace("# thicknesses", "thicknesses")
QUICK = settings(deadline=None, max_examples=150)
KEYS = [key for key in places(GOOD) if isinstance(key[-1], str)]

values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**25), 10**25)
    | st.floats()
    | st.text(max_size=12)
    | st.sampled_from(["max", "8/4", "7' 6\"", "through", "nan", "A", "../x", "knot", "1e999"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)


def one_line(read: Callable[[], object]) -> None:
    """What is read is usable, or is refused in one line that names the file."""
    try:
        read()
    except SlabwrightError as error:
        assert str(error).isprintable()
        assert "job.toml" in str(error) or "shop.toml" in str(error)


def read_all(data: bytes) -> None:
    one_line(lambda: job_from(toml_from(data, "job.toml")))
    one_line(lambda: shop_from(toml_from(data, "shop.toml"), "inch"))


@QUICK
@given(st.binary(max_size=300) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "surrogatepass")))
def test_random_bytes_are_a_job_or_one_line(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "job.toml"
        file.write_bytes(data)

        def load() -> None:
            assert isinstance(load_job(file), Job)

        one_line(load)
    read_all(data)


@QUICK
@given(st.data(), st.sampled_from([GOOD, SHOP]), st.integers(1, 4))
def test_slips_of_the_keyboard_are_a_job_or_one_line(data: st.DataObject, text: str, slips: int) -> None:
    for _ in range(slips):
        at = data.draw(st.integers(0, len(text)))
        until = data.draw(st.integers(at, min(len(text), at + 8)))
        typed = data.draw(
            st.sampled_from(["", "", "\n", '"', "'", "[", "]", "=", "#", "-", ".", "9", "nan", "\x00", "é"])
        )
        text = text[:at] + typed + text[until:]
    read_all(text.encode())


@QUICK
@given(st.sampled_from(KEYS), values)
def test_any_value_under_any_key_is_a_job_or_one_line(key: tuple[str | int, ...], value: Any) -> None:
    stated = tomllib.loads(GOOD)
    here: Any = stated
    for part in key[:-1]:
        here = here[part]
    here[key[-1]] = value
    try:
        text = tomlkit.dumps(stated)
        tomllib.loads(text)
    except (ValueError, TypeError):
        return  # TOML has no such value
    read_all(text.encode())


@QUICK
@given(st.dictionaries(st.text(max_size=8), values, max_size=5))
def test_every_key_of_any_toml_has_a_line(stated: dict[str, Any]) -> None:
    try:
        text = tomlkit.dumps(stated)
        again = tomllib.loads(text)
    except (ValueError, TypeError):
        return  # TOML has no such value

    def keys(value: object, way: tuple[str | int, ...]) -> set[tuple[str | int, ...]]:
        inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        return {way} | {key for name, item in inner for key in keys(item, (*way, name))}

    assert set(places(text)) | {()} == keys(again, ())
    assert max(header.last for header in headers(text)) <= len(text.split("\n"))


numbers = st.integers(-5, 5000) | st.floats(-5, 5000, allow_nan=False)
CHANGES: dict[str, st.SearchStrategy[Any]] = {
    "job.title": st.text(max_size=20),
    "job.client": st.text(max_size=20),
    "piece.length": numbers | st.just("7' 6 1/2\"") | st.none(),
    "piece.finish": st.text(max_size=20),
    "room.dry.humidity": numbers,
    "room.kind": st.just("church"),
    "slab.cut_to": numbers | st.none(),
    "slab.lay.supports": st.lists(numbers, max_size=4),
    "slab.lay.face_down": st.sampled_from(["A", "B"]),
    "slab.moisture.core": st.lists(numbers, max_size=4) | st.none(),
    "slab.moisture": st.just({"shell": [8]}) | st.none(),
    "slab.planned": st.just({"length": 2000, "width": 900, "thickness": "8/4"}),
    "slab.marks[0]": st.just({"a": [0, 1], "b": [2, 3]}),
    "slab.defects[0].note": st.text(max_size=20),
    "slab.defects[1].outline": st.lists(st.lists(numbers, min_size=2, max_size=2), min_size=2, max_size=3),
    "slab.defects[2]": st.just({"kind": "void", "at": [1, 2], "diameter": 9}),
    "slab.defects": st.lists(st.fixed_dictionaries({"kind": st.just("bark"), "depth": numbers}), max_size=3),
    "checks[0]": st.just({"face": "A", "kind": "thickness", "value": 40}),
    "as_made.thickness": numbers,
    "fill.choose": st.integers(0, 9),
}
changes = st.sampled_from(sorted(CHANGES)).flatmap(lambda key: st.tuples(st.just(key), CHANGES[key]))


def _applied(stated: Any, path: str, value: Any) -> None:
    """The same change made to plain data, told the simple way."""
    parts = [int(part) if part.isdigit() else part for part in path.replace("[", ".").replace("]", "").split(".")]
    for part, following in itertools.pairwise(parts):
        stated = (
            stated.setdefault(part, [] if isinstance(following, int) else {}) if isinstance(part, str) else stated[part]
        )
    if value is None or (value == [] and parts[-1] == "defects"):
        stated.pop(parts[-1], None)
    elif isinstance(parts[-1], int) and parts[-1] == len(stated):
        stated.append(value)
    else:
        stated[parts[-1]] = value


def _remarks(text: str) -> list[str]:
    return [line.partition("# ")[2] for line in text.split("\n") if line.startswith("# ")]


@settings(deadline=None, max_examples=200)
@given(st.lists(changes, min_size=1, max_size=4, unique_by=lambda change: change[0].partition("[")[0]))
def test_changes_are_made_and_all_else_stays(wanted: list[tuple[str, Any]]) -> None:
    # "slab.moisture" and what lies in it are not changed in one go: which is meant to win is not said
    names = [name for name, _ in wanted]
    if any(one != other and other.startswith(one) for one in names for other in names):
        return
    stated = tomllib.loads(GOOD)
    changed = with_values(GOOD, dict(wanted))
    for path, value in wanted:
        _applied(stated, path, value)
    assert tomllib.loads(changed) == stated
    assert _remarks(changed) == _remarks(GOOD)
    for remark in ("# as the client says", "# winter"):
        assert remark in changed


@QUICK
@given(st.text(min_size=1, max_size=40), st.text(max_size=40), st.sampled_from(["ash, white", None]))
def test_a_starter_holds_any_words(title: str, finish: str, species: str | None) -> None:
    def read() -> None:
        stated = job_from(toml_from(starter(Answers(title, species=species, finish=finish)).encode(), "job.toml"))
        assert isinstance(stated, JobFile)
        assert stated.piece.finish == finish

    one_line(read)
