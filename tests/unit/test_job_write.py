from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path

import pytest

from slabwright.findings import SlabwrightError
from slabwright.job.write import set_values, with_plain_values, with_values

TEXT = """\
# A reading table.
[job]
title = "Reading table"   # as the client says
# client = "..."

[piece]
thickness = "max"      # or 48

# The slab, bought in spring.
[slab]
species = "ash, white"
end_trim = 30

# Readings, once there are some:
# survey = "survey.csv"

[slab.moisture]
core = [ 9.8,  # near the pith
  10.1,        # near the bark
]

[[slab.defects]]   # the big one
kind = "knot"
at = [905, -210]
diameter = 38      # by rule

# What filling costs.
[fill]
price_per_litre = 95
"""


@pytest.mark.parametrize(
    ("values", "there", "gone"),
    [
        ({"piece.thickness": "48 mm"}, ['thickness = "48 mm"      # or 48'], ['"max"']),
        ({"slab.end_trim": 40}, ["end_trim = 40\n"], ["30"]),
        ({"slab.end_trim": None}, ["[slab]"], ["end_trim"]),
        ({"slab.cut_from": 50}, ["end_trim = 30\ncut_from = 50\n\n# Readings"], []),
        ({"slab.survey": "a.csv"}, ['# survey = "survey.csv"\nsurvey = "a.csv"\n\n[slab.moisture]'], []),
        ({"job.client": "Library"}, ['# client = "..."\nclient = "Library"\n\n[piece]'], []),
        (
            {"slab.moisture.core": [9.8, 9.9, 9.7]},
            ["9.8,  # near the pith", "9.9,        # near the bark", "9.7"],
            ["10.1"],
        ),
        ({"slab.moisture.shell": [8.5]}, ["]\nshell = [8.5]\n\n[[slab.defects]]   # the big one"], []),
        ({"slab.defects[0].diameter": 40}, ["diameter = 40      # by rule"], []),
        ({"slab.defects[0].note": "hi"}, ['# by rule\nnote = "hi"\n\n# What filling'], []),
        (
            {"slab.defects[1]": {"kind": "void", "at": [1, 2], "diameter": 3}},
            [
                '# by rule\n\n[[slab.defects]]\nkind = "void"\nat = [1, 2]\ndiameter = 3\n\n# What filling costs.\n[fill]'
            ],
            [],
        ),
        ({"slab.lay.supports": [1, 2]}, ["[slab.lay]\nsupports = [1, 2]\n\n# What filling costs.\n[fill]"], []),
        ({"as_made": {"thickness": 44}}, ["price_per_litre = 95\n\n[as_made]\nthickness = 44\n"], []),
        ({"checks[0]": {"face": "A", "kind": "thickness", "value": 48}}, ["[[checks]]\nface = "], []),
        ({"slab.moisture": {"core": [9.8, 10.1]}}, ["# near the bark"], []),
        ({"slab.moisture": None}, ["# The slab, bought in spring."], ["core"]),
        (
            {"room.dry.humidity": 30, "room.dry.temperature": 20, "room.damp": {"temperature": 20, "humidity": 60}},
            ["[room.damp]"],
            [],
        ),
    ],
    ids=lambda value: str(value)[:40],
)
def test_only_what_is_named_changes(values: Mapping[str, object], there: list[str], gone: list[str]) -> None:
    changed = with_values(TEXT, values)
    assert all(part in changed for part in there), changed
    assert not any(part in changed for part in gone), changed
    if None not in values.values():
        remarks = [line.partition("#")[2] for line in TEXT.splitlines() if "#" in line]
        assert [line.partition("#")[2] for line in changed.splitlines() if "#" in line] == remarks


def test_inline_tables_and_lists_of_them_are_changed_where_they_stand() -> None:
    text = (
        '[job]\ntitle = "x"\n[slab]\nspecies = "ash"\ndefects = [{ kind = "knot", at = [1, 2], diameter = 3 }] # seen\n'
    )
    changed = with_values(text, {"slab.defects[0].diameter": 4, "slab.defects[1]": {"kind": "void"}})
    assert changed.endswith("# seen\n")
    assert tomllib.loads(changed)["slab"]["defects"] == [
        {"kind": "knot", "at": [1, 2], "diameter": 4},
        {"kind": "void"},
    ]


def test_windows_lines_stay(tmp_path: Path) -> None:
    file = tmp_path / "job.toml"
    file.write_bytes(TEXT.replace("\n", "\r\n").encode())
    set_values(file, {"slab.cut_from": 50})
    data = file.read_bytes()
    assert b"cut_from = 50\r\n" in data
    assert data.count(b"\n") == data.count(b"\r\n")


def test_an_empty_file_gets_its_first_table() -> None:
    assert with_values("", {"job.title": "x"}) == '[job]\ntitle = "x"\n'


@pytest.mark.parametrize(
    "values",
    [
        {"slab.end_trim": -3},
        {"slab.specis": "ash"},
        {"slab.end_trim": float("nan")},
        {"job": None},
        {"job.title.more": 3},
        {"slab.defects[5].note": "x"},
        {"slab.end_trim": {1: 2}},
        {"not a key": 1},
        {"": 1},
        {"job.title": object},
    ],
    ids=str,
)
def test_a_change_that_would_break_the_file_leaves_it_alone(tmp_path: Path, values: Mapping[str, object]) -> None:
    file = tmp_path / "job.toml"
    file.write_text(TEXT, encoding="utf-8")
    with pytest.raises(SlabwrightError) as caught:
        set_values(file, values)
    assert str(caught.value).isprintable()
    assert file.read_text(encoding="utf-8") == TEXT
    assert [entry.name for entry in tmp_path.iterdir()] == ["job.toml"]


def test_a_write_that_fails_leaves_the_old_file_and_nothing_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "job.toml"
    file.write_text(TEXT, encoding="utf-8")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(SlabwrightError, match="No space left"):
        set_values(file, {"slab.end_trim": 40})
    assert file.read_text(encoding="utf-8") == TEXT
    assert [entry.name for entry in tmp_path.iterdir()] == ["job.toml"]


def test_shop_files_are_held_to_the_shop_files_keys(tmp_path: Path) -> None:
    file = tmp_path / "shop.toml"
    file.write_text('units = "inch"\n[machine]\n# feed = 240\n', encoding="utf-8")
    file.chmod(0o600)
    set_values(file, {"machine.feed": 300, "prices.hour": 55}, shop=True)
    assert (
        file.read_text(encoding="utf-8")
        == 'units = "inch"\n[machine]\n# feed = 240\nfeed = 300\n\n[prices]\nhour = 55\n'
    )
    assert file.stat().st_mode & 0o777 == 0o600
    with pytest.raises(SlabwrightError, match="no such key"):
        set_values(file, {"job.title": "x"}, shop=True)


def test_a_key_left_out_of_a_table_that_is_not_there_makes_no_table() -> None:
    text = '[job]\ntitle = "x"\n'
    assert with_values(text, {"quote.margin": None}) == text
    swapped = with_values(text, {"quote.margin": None, "quote.mark_up": 100})
    assert tomllib.loads(swapped) == {"job": {"title": "x"}, "quote": {"mark_up": 100}}
    assert with_plain_values({"job": {"title": "x"}}, {"quote.margin": None, "quote.mark_up": 100}) == {
        "job": {"title": "x"},
        "quote": {"mark_up": 100},
    }
    assert with_plain_values({}, {"top.features[0].depth": None}) == {}


WAY_IN = """\
[job]
title = "x"

[delivery]
hand_room = 20

[[delivery.steps]]
kind = "door"
width = 800
height = 2000
"""


@pytest.mark.parametrize("values", [{"delivery.steps": None}, {"delivery": {"hand_room": 20, "steps": None}}])
def test_null_leaves_a_list_out(values: Mapping[str, object]) -> None:
    bare = {"job": {"title": "x"}, "delivery": {"hand_room": 20}}
    assert tomllib.loads(with_values(WAY_IN, values)) == bare
    if "delivery.steps" in values:
        assert with_plain_values(tomllib.loads(WAY_IN), values) == bare


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ([None], "delivery.steps: an entry of a list cannot be null; leave that entry out"),
        ([{"kind": "door", "of": [None]}], "cannot be null"),
        ("null", "delivery.steps: is a list of tables"),
        (0, "state a list, such as"),
    ],
)
def test_what_is_no_list_of_tables_is_told(value: object, told: str) -> None:
    with pytest.raises(SlabwrightError, match=told):
        with_values(WAY_IN, {"delivery.steps": value})
    with pytest.raises(SlabwrightError, match=told):
        with_plain_values(tomllib.loads(WAY_IN), {"delivery.steps": value})
