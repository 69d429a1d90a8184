"""What a shop file may say of a coating, and a job of its finish; and how wrong input is refused."""

from __future__ import annotations

import tomllib
from datetime import datetime

import pytest

from slabwright.findings import SlabwrightError
from slabwright.finish.coating_systems import examples
from slabwright.job.coating_fields import LITRE_PER_GALLON, M2_PER_LITRE
from slabwright.job.epoxy_models import Epoxy
from slabwright.job.finish_models import Coating, Finish
from slabwright.job.load import job_from, shop_from, toml_from
from slabwright.job.models import JobFile, ShopFile

GOOD = """[[coatings]]
name = "grey paint"
mix = [4, 1]
pot_life = 120
coverage = 9.5
without_sanding = { least = 6, greatest = 24 }
cure = 168
"""
MORE = "[coatings.more]\n"


def shop(text: str, units: str = "metric") -> ShopFile:
    return shop_from(toml_from(text.encode(), "shop.toml"), "inch" if units == "inch" else "metric")


def job(text: str) -> JobFile:
    return job_from(toml_from(f'[job]\ntitle = "Table"\n{text}'.encode(), "job.toml"))


def test_a_coating_as_its_sheet_says() -> None:
    (coating,) = shop(GOOD).coatings
    assert coating.mix == [4.0, 1.0] and coating.coverage == 9.5 and coating.two_parts


def test_a_file_in_inches_states_square_feet_mils_and_gallons() -> None:
    text = (
        'units = "inch"\n'
        + GOOD.replace("9.5", "400")
        + "cans = [{ size = 1 }, { size = '1 qt' }]\n"
        + MORE
        + "film = 2\n"
    )
    (coating,) = shop(text, "inch").coatings
    assert coating.coverage == pytest.approx(400 * M2_PER_LITRE)
    assert coating.more.film == pytest.approx(50.8)
    assert [can.size for can in coating.cans] == pytest.approx([LITRE_PER_GALLON, LITRE_PER_GALLON / 4])
    assert pytest.approx(3.785411784) == LITRE_PER_GALLON


@pytest.mark.parametrize("written", ['"4:1"', "[4, 1]", '["80 %", "20 %"]', '["80%", "20%"]'])
def test_a_mix_is_written_as_the_sheet_does(written: str) -> None:
    (coating,) = shop(GOOD.replace("[4, 1]", written)).coatings
    assert coating.mix is not None and coating.mix[0] / coating.mix[1] == 4.0


@pytest.mark.parametrize(
    ("before", "after", "line", "said"),
    [
        ("[4, 1]", '["80 %", "15 %"]', 3, "make 95 %"),
        ("[4, 1]", "[4, 0]", 3, "more than 0"),
        ("[4, 1]", "[4, -1]", 3, "more than 0"),
        ("[4, 1]", '["80 %", 20]', 3, "all percent or none"),
        ("[4, 1]", "[1, 2, 3]", 3, "one or two components"),
        ("[4, 1]", '"four to one"', 3, "one or two components"),
        ("greatest = 24", "greatest = 4", 6, "ends (4 h) before it begins (6 h)"),
        ("greatest = 24", "greatest = 6", 6, "before it begins"),
        ("least = 6", "least = -1", 6, "at least 0"),
        ("coverage = 9.5", "coverage = 0", 5, "more than 0"),
        ("coverage = 9.5", 'coverage = "9.5 m"', 5, "m2/l"),
        ("coverage = 9.5\n", "", 1, "coverage, or solids and film"),
        ("pot_life = 120\n", "", 1, "pot_life"),
        ("cure = 168", f"cure = 168\n{MORE}film = -60", 9, "more than 0"),
        ("cure = 168", f'cure = 168\n{MORE}film = "-2.5 mil"', 9, "more than 0"),
        ("cure = 168", f"cure = 168\n{MORE}solids = 120", 9, "at most 100"),
        ("cure = 168", f"cure = 168\n{MORE}transfer_loss = 1", 9, "less than 1"),
        ("cure = 168", f"cure = 168\n{MORE}dampest = 120", 9, "at most 100"),
        ("cure = 168", f"cure = 168\n{MORE}coldest = 30\nwarmest = 10", 8, "coldest must be less than warmest"),
        ("cure = 168", f"cure = 168\n{MORE}at = [{{ temperature = 20, cure = 1 }}]", 8, "stated_at"),
        ("cure = 168", f"cure = 168\n{MORE}at = [{{ temperature = 9 }}, {{ temperature = 9 }}]", 8, "state each once"),
        (
            "cure = 168",
            f"cure = 168\n{MORE}at = [{{ temperature = 9, without_sanding = {{ least = 9 }} }}]",
            1,
            "a greatest at some temperatures",
        ),
        ("cure = 168", 'mix_by = "mass"\ncure = 168', 1, "density"),
        ("cure = 168", f"cure = 168\n{MORE}time_to_sand = 200", 1, "at most cure"),
        ("name", 'kind = "oil"\nname', 1, "[coatings.oil]"),
        ("cure = 168", "cure = 168\noil = { first = 20, second = 30, end_grain = 9 }", 1, 'kind = "oil"'),
        ("cure", "curing", 7, "did you mean `cure`"),
    ],
)  # fmt: skip
def test_a_sheet_that_cannot_be_is_refused_with_its_line(before: str, after: str, line: int, said: str) -> None:
    text = GOOD.replace(before, after, 1)
    assert text != GOOD
    with pytest.raises(SlabwrightError) as caught:
        shop(text)
    assert str(caught.value).startswith(f"shop.toml:{line}: ")
    assert said in str(caught.value) and "\n" not in str(caught.value)


def test_two_coatings_of_one_name() -> None:
    with pytest.raises(SlabwrightError, match="two coatings are called 'grey paint'"):
        shop(GOOD + GOOD.replace("grey", "Grey "))


def test_a_start_with_and_without_seconds() -> None:
    for written in ('"2026-12-01T09:00"', "2026-12-01T09:00:00", '"2026-12-01 09:00"', "2026-12-01 09:00:00"):
        finish = job(f"[finish]\nstart = {written}\n").finish
        assert finish is not None and finish.start == datetime(2026, 12, 1, 9)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("start = 'soon'", "write the day and the hour"),
        ("start = 9", "must be a time"),
        ("start = 2026-12-01T09:00:00Z", "without a time zone"),
        ("start = '20260-12-01'", "is no time"),
        ("start = '0026-12-01T09:00'", "is a slip"),
        ("humidity = 101", "at most 100"),
        ("humidity = -1", "at least 0"),
        ("temperature = 200", "at most 80"),
        ("opens = '25:00'", "hour of the day"),
        ("opens = '18:00'\ncloses = '08:00'", "closes must be at least an hour after opens"),
        ("wood = [{ coating = 'oil', coats = 0 }]", "at least 1"),
        ("wood = [{ coating = 'oil', then = 'burn' }]", '"coat", "scuff" or "sand"'),
    ],
)
def test_a_finish_that_cannot_be(text: str, said: str) -> None:
    with pytest.raises(SlabwrightError) as caught:
        job(f"[finish]\n{text}\n")
    assert str(caught.value).startswith("job.toml:") and said in str(caught.value)


def test_the_examples_stand_as_a_maker_would_state_them_and_say_what_they_are() -> None:
    from importlib import resources

    text = resources.files("slabwright.reference").joinpath("coating_examples.toml").read_text(encoding="utf-8")
    assert text.startswith("# INVENTED")
    stated = ShopFile.model_validate(tomllib.loads(text), context={"units": "metric"})
    assert list(examples()) == stated.coatings
    assert [coating.name for coating in examples()] == [
        "two-part epoxy primer", "two-part flat urethane", "hard-wax oil", "maintenance oil",
    ]  # fmt: skip


def test_densities_go_together() -> None:
    with pytest.raises(ValueError, match="between density_a and density_b"):
        Coating.model_validate(
            {
                "name": "x", "mix": [1, 1], "pot_life": 60, "coverage": 8, "cure": 24, "without_sanding": {"least": 1},
                "more": {"density": 2.0, "density_a": 1.2, "density_b": 1.0},
            }
        )  # fmt: skip


@pytest.mark.parametrize("key", ["temperature", "steel_temperature"])
def test_degrees_that_were_meant_as_fahrenheit(key: str) -> None:
    with pytest.raises(ValueError, match="68 °F was meant, state 20"):
        Finish.model_validate({key: 68})
    assert getattr(Finish.model_validate({key: 31}), key) == 31.0
    with pytest.raises(ValueError, match="50 °F was meant, state 10"):
        Epoxy.model_validate({"shop_temperature": 50})
