from __future__ import annotations

import re
from pathlib import Path

import pytest

from slabwright.findings import SlabwrightError
from slabwright.job import load_job
from slabwright.job.load import job_from, shop_from, toml_from
from slabwright.job.models import ShopFile
from slabwright.job.starter import BASES, QUESTIONS, Answers, shop_starter, starter, write_starter
from slabwright.quantities import QuantityError, Units

NOTHING = Answers("Something")
ALL = Answers("Reading table", "metric", 2200, "90 cm", 740, "ash, white", "U legs", 'oil, "two coats"')


@pytest.fixture(autouse=True)
def _own_config(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


def uncommented(text: str) -> str:
    """The text with every line stated that shows a key or a table as a remark; open ones (...) stay remarks."""
    return re.sub(r"^# (?=\[|[a-z_]+ = (?!\.\.\.|\[\.\.\.))", "", text, flags=re.MULTILINE)


def test_what_was_answered_is_what_the_job_says() -> None:
    job = job_from(toml_from(starter(ALL).encode(), "job.toml"))
    assert job.job.title == "Reading table"
    assert (job.piece.length, job.piece.width, job.piece.height) == (2200.0, 900.0, 740.0)
    assert (job.piece.base, job.piece.finish) == ("U legs", 'oil, "two coats"')
    assert job.slab is not None and job.slab.species == "ash, white"


@pytest.mark.parametrize(
    "answers", [NOTHING, ALL, Answers("x", "inch", "7' 6 1/2 in", None, 29.5)], ids=["none", "all", "inch"]
)
def test_every_line_of_the_starter_may_be_stated(answers: Answers) -> None:
    stated = job_from(toml_from(uncommented(starter(answers)).encode(), "job.toml"))
    assert stated.slab is not None and stated.slab.planned is not None and stated.room is not None
    assert stated.slab.survey == "survey.csv"
    inch = answers.units == "inch"
    assert stated.slab.planned.length == pytest.approx(96 * 25.4 if inch else 2400)
    defaults = type(stated.slab).model_fields
    # In inches the nearest round figure is shown.
    assert stated.slab.edge_margin == pytest.approx(defaults["edge_margin"].default, abs=0.5 if inch else 0.0)
    assert stated.slab.end_trim == pytest.approx(defaults["end_trim"].default, abs=0.5 if inch else 0.0)


@pytest.mark.parametrize("units", ["metric", "inch"])
def test_the_shop_starter_shows_the_defaults_that_hold(units: Units) -> None:
    text = shop_starter(units)
    plain = shop_from(toml_from(text.encode(), "shop.toml"), units)
    stated = shop_from(toml_from(uncommented(text).encode(), "shop.toml"), units)
    taken = ShopFile.model_validate({"units": units}, context={"units": units})
    assert plain.model_dump(exclude={"units"}) == taken.model_dump(exclude={"units"})
    assert stated == plain
    assert "# cutter_diameter" in text and "\ncutter_diameter" in uncommented(text)


def test_a_new_folder_holds_a_job_that_loads(tmp_path: Path) -> None:
    written = write_starter(tmp_path / "new" / "desk", ALL)
    assert [file.name for file in written] == ["job.toml", "shop.toml"]
    assert load_job(written[0]).stated.piece.length == 2200.0


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text("[machine]\nfeed = 1\n", encoding="utf-8")
    assert [file.name for file in write_starter(tmp_path, ALL)] == ["job.toml"]
    before = (tmp_path / "job.toml").read_text(encoding="utf-8")
    with pytest.raises(SlabwrightError, match="there already"):
        write_starter(tmp_path, NOTHING)
    assert (tmp_path / "job.toml").read_text(encoding="utf-8") == before
    assert (tmp_path / "shop.toml").read_text(encoding="utf-8") == "[machine]\nfeed = 1\n"


def test_a_general_shop_file_is_not_put_aside_by_a_new_one(tmp_path: Path) -> None:
    (tmp_path / "config" / "slabwright").mkdir(parents=True)
    (tmp_path / "config" / "slabwright" / "shop.toml").write_text("[machine]\nfeed = 1\n", encoding="utf-8")
    assert [file.name for file in write_starter(tmp_path / "desk", ALL)] == ["job.toml"]
    assert load_job(tmp_path / "desk" / "job.toml").shop.machine.feed == 1.0


@pytest.mark.parametrize(
    "answers",
    [Answers(""), Answers("x", length=-1), Answers("x", length="long"), Answers("x", base="a swing")],
    ids=str,
)
def test_answers_that_cannot_be_used_make_nothing(tmp_path: Path, answers: Answers) -> None:
    with pytest.raises(SlabwrightError):
        write_starter(tmp_path / "new", answers)
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("name", ["file/desk", "file", "a\0b", "x" * 400])
def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path, name: str) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(SlabwrightError) as caught:
        write_starter(f"{tmp_path}/{name}", ALL)
    assert str(caught.value).isprintable()


@pytest.mark.parametrize("units", ["metric", "inch"])
def test_every_question_understands_its_own_example(units: Units) -> None:
    typed = {q.key: q.parse(q.inch_example if units == "inch" else q.example, units) for q in QUESTIONS}
    job = job_from(toml_from(starter(Answers("x", units, **typed)).encode(), "job.toml"))  # type: ignore[arg-type]
    assert job.piece.length == pytest.approx(2286.0 if units == "inch" else 2200.0)
    assert job.piece.base == "U legs"


def test_answers_are_taken_as_people_give_them() -> None:
    parse = {question.key: question.parse for question in QUESTIONS}
    assert parse["length"]("1200", "metric") == 1200
    assert parse["length"]("29.5", "inch") == 29.5
    assert parse["length"]("7' 6 1/2\"", "inch") == "7ft 6 1/2in"
    for typed in ("6' 6\"", "6'6", "6′ 6″", "6ft 6in", "6 ft. 6 in."):
        assert parse["length"](typed, "inch") == "6ft 6in"
    assert parse["length"]('29 1/2"', "inch") == "29 1/2 in"
    assert [parse["base"](str(number), "metric") for number in range(1, 6)] == list(BASES)
    assert parse["base"]("TRESTLES", "metric") == parse["base"]("tre", "metric") == "trestles"
    for key, text in (
        ("length", "0"),
        ("length", "x"),
        ("base", ""),
        ("base", "9"),
        ("species", " "),
        ("finish", "a" * 201),
    ):
        with pytest.raises(QuantityError):
            parse[key](text, "metric")


def test_a_stated_width_is_cut_straight_and_an_open_one_stays_live() -> None:
    for width, edges in ((900, "none"), (None, "both")):
        job = job_from(toml_from(starter(Answers("x", "metric", 2200, width, 740)).encode(), "job.toml"))
        assert job.piece.live_edges == edges
