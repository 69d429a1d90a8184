from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from slabwright.findings import SlabwrightError
from slabwright.job import load_job
from slabwright.plan import plan
from slabwright.reading import enter_check, read_by_hand
from slabwright.reading.stations import across_at, stations, tapered_outline

METRIC = '[job]\ntitle = "Shelf"\n\n[slab]\nspecies = "ash, white"  # from the yard\n'
INCH = '[job]\ntitle = "Shelf"\nunits = "inch"\n\n[slab]\nspecies = "walnut, black"\n'
SIZES = ["2000", "600", "", ""]


class Person:
    """Answers in turn, then stops; what was said is kept."""

    def __init__(self, answers: list[str]) -> None:
        self.answers: Iterator[str] = iter(answers)
        self.heard: list[str] = []

    def ask(self, prompt: str) -> str:
        self.heard.append(prompt)
        return next(self.answers, "stop")

    def say(self, text: str) -> None:
        self.heard.append(text)


def job_in(folder: Path, text: str = METRIC) -> Path:
    path = folder / "job.toml"
    path.write_text(text)
    return path


def read(path: Path, answers: list[str], **more: object) -> Person:
    person = Person(answers)
    read_by_hand(path, along=5, across=3, ask=person.ask, say=person.say, **more)  # type: ignore[arg-type]
    return person


def test_thirty_readings_make_a_survey_that_plans(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    read(path, SIZES + ["120.5"] * 15 + ["60"] * 15)
    assert "# from the yard" in path.read_text()
    assert not (tmp_path / "readings-begun.jsonl").exists()
    result = plan(load_job(path))
    assert result.slab is not None
    assert result.slab.seat.thickness == pytest.approx(60.5, abs=1e-6)


def test_stop_and_go_on_loses_nothing(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    read(path, [*SIZES, "120", "121", "122"])
    person = read(path, ["120"] * 12 + ["60"] * 15)
    assert "3 readings are kept" in person.heard[0]
    assert "  4/30" in "".join(person.heard)
    job = load_job(path)
    assert job.readings is not None and len(job.readings.face_a) == 15


def test_redo_takes_the_last_one_back(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    read(path, [*SIZES, "999", "redo", *["120"] * 15, *["60"] * 15])
    lines = (tmp_path / "survey.csv").read_text().splitlines()
    assert len(lines) == 31 and not any("999" in line for line in lines)


def test_far_off_reading_is_asked_again(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    person = read(path, [*SIZES, "120", "120", "210", "121", *["120"] * 12, *["60"] * 15])
    assert any("above its neighbours" in text for text in person.heard)
    assert not any(",210" in line for line in (tmp_path / "survey.csv").read_text().splitlines())


def test_level_line_and_edges_only(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    answers = [*SIZES, *["120"] * 15, "edges", "line", "400", *["340"] * 10]
    read(path, answers)
    job = load_job(path)
    assert job.readings is not None and len(job.readings.face_b) == 10
    result = plan(job)
    assert result.slab is not None and result.slab.seat.thickness == pytest.approx(60.0, abs=1e-6)


def test_sixteenths(tmp_path: Path) -> None:
    path = job_in(tmp_path, INCH)
    read(path, ["6'", "30 1/2 in", "", "", *["4 5/16"] * 15, *["2"] * 15])
    result = plan(load_job(path))
    assert result.slab is not None
    assert result.slab.seat.thickness == pytest.approx((2 + 5 / 16) * 25.4, abs=1e-6)


def test_wrong_words_are_told_and_asked_again(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    person = read(path, [*SIZES, "about a thumb", "", "skip", *["120"] * 14, *["60"] * 15])
    assert any("thumb" in text for text in person.heard)
    job = load_job(path)
    assert job.readings is not None and len(job.readings.face_a) == 14


def test_readings_that_are_there_are_not_overwritten(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    read(path, SIZES + ["120.5"] * 15 + ["60"] * 15)
    with pytest.raises(SlabwrightError, match="names readings already"):
        read(path, [])
    before = (tmp_path / "survey.csv").read_bytes()
    read(path, ["110"] * 15 + ["58"] * 15, after="rough A")
    assert (tmp_path / "survey.csv").read_bytes() == before
    result = plan(load_job(path))
    assert result.slab is not None and result.slab.seat.thickness == pytest.approx(52.0, abs=1e-6)


@pytest.mark.parametrize(
    "damage", ["not json\n", '{"along": 5}\n', '{"along":5,"across":3,"outline":[],"made_outline":true}\nrubbish\n']
)
def test_broken_file_of_readings_begun(tmp_path: Path, damage: str) -> None:
    path = job_in(tmp_path)
    (tmp_path / "readings-begun.jsonl").write_text(damage)
    with pytest.raises(SlabwrightError, match=r"readings-begun.jsonl:\d.*--again"):
        read(path, [])
    read(path, [*SIZES, "120"], again=True)


def test_half_written_last_line_is_asked_again(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    read(path, [*SIZES, "120", "121"])
    begun = tmp_path / "readings-begun.jsonl"
    begun.write_text(begun.read_text()[:-9])
    person = read(path, [])
    assert "1 readings are kept" in person.heard[0]


def test_check_is_entered_and_the_plan_follows(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    read(path, SIZES + ["120.5"] * 15 + ["60"] * 15)
    before = plan(load_job(path))
    enter_check(path, "A skim straightedge 0.8", say=lambda _: None)
    after = plan(load_job(path))
    assert before.board is not None and after.board is not None
    assert after.board.thickness_low == pytest.approx(before.board.thickness_low - 0.8)
    assert "slab/face-not-flat" in [finding.code for finding in after.findings]
    enter_check(path, "B skim thickness 55.2", say=lambda _: None)
    made = plan(load_job(path)).board
    assert made is not None and made.basis == "as made" and made.thickness == pytest.approx(55.2)


@pytest.mark.parametrize(
    "words", ["", "C skim straightedge 1", "A sand straightedge 1", "A skim feeling 1", "A skim straightedge much"]
)
def test_check_in_wrong_words(tmp_path: Path, words: str) -> None:
    path = job_in(tmp_path)
    before = path.read_text()
    with pytest.raises(SlabwrightError, match="--check"):
        enter_check(path, words)
    assert path.read_text() == before


def test_stations_lie_inside_and_snake() -> None:
    outline = tapered_outline(2000.0, (600.0, 700.0, 500.0))
    every = stations(outline, 5, 3, end_inset=25.0, edge_inset=10.0, faces=("A",))
    assert len(every) == 15
    for station in every:
        low, high = across_at(outline, station.x)
        assert low < station.y < high and 0 < station.x < 2000
    walk = np.hypot(np.diff([s.x for s in every]), np.diff([s.y for s in every]))
    assert walk.max() < 600.0


def test_a_station_by_its_number_is_read_again(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    person = read(path, [*SIZES, "120", "121", "122", "redo 2", "118", *["120"] * 12, *["60"] * 15])
    assert sum("  2/30" in text for text in person.heard) == 2
    assert (tmp_path / "survey.csv").read_text().count(",118\n") == 1


def test_underside_above_the_top_is_asked_again(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    person = read(path, [*SIZES, *["120"] * 15, "480", "60", *["60"] * 14])
    assert any("not below face A there" in text for text in person.heard)
    assert ",480" not in (tmp_path / "survey.csv").read_text()


def test_what_is_typed_again_is_looked_at_again(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    person = read(path, [*SIZES, "120", "120", "210", "215", "121", *["120"] * 12, *["60"] * 15])
    assert sum("above its neighbours" in text for text in person.heard) == 2


def test_fraction_is_told_back(tmp_path: Path) -> None:
    person = read(job_in(tmp_path, INCH), ["6'", "30 1/2 in", "", "", "4 5/16", "41/8"])
    assert any('= 4 5/16"' in text for text in person.heard)
    assert any("4 1/8 or 5 1/8" in text for text in person.heard)


def test_starting_anew_puts_the_old_readings_aside(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    read(path, [*SIZES, "120", "121"])
    read(path, [*SIZES, "130"], again=True)
    assert "121" in (tmp_path / "readings-begun-old.jsonl").read_text()


def test_stopped_rereading_tells_how_to_go_on(tmp_path: Path) -> None:
    path = job_in(tmp_path)
    read(path, SIZES + ["120.5"] * 15 + ["60"] * 15)
    person = read(path, ["118"], after="rough A")
    assert '--after "rough A"' in person.heard[-1]


@pytest.mark.parametrize("text", [METRIC, INCH])
def test_every_station_counts(tmp_path: Path, text: str) -> None:
    """No station falls outside the clean region because of rounding, on a slab that tapers."""
    path = job_in(tmp_path, text)
    sizes = ["6'", "31 1/2 in", "32 in", "30 in"]
    read(path, sizes + ["4 in"] * 15 + ["2 in"] * 15)
    result = plan(load_job(path))
    assert result.slab is not None
    assert (result.slab.survey.clean_a, result.slab.survey.clean_b) == (15, 15)
