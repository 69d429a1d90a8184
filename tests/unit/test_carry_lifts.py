"""Lifts: weight per end, people, aids, alone, and the lifting index only where it applies; hands as a job states them."""

from __future__ import annotations

import dataclasses
import io
import xml.etree.ElementTree as ElementTree
from functools import cache
from pathlib import Path

import pytest
from pypdf import PdfReader

from slabwright.carry.lifts import end_weights, end_weights_on_stairs, lifts, people_by_hand
from slabwright.carry.lifts_results import Lift
from slabwright.carry.mass import masses
from slabwright.carry.mass_results import Masses
from slabwright.carry.niosh import Conditions, Grip, frequency_multiplier, lifting_index, weight_limit, why_not
from slabwright.findings import Finding, SlabwrightError
from slabwright.job.hands_models import Hands, hands_of
from slabwright.job.load import load_job
from slabwright.plan import Plan, plan
from slabwright.quantities import QuantityError, parse_mass
from slabwright.sheets import document
from slabwright.sheets.context import Context
from slabwright.sheets.lift_sheets import card, lift_sheets, seen_of
from slabwright.sheets.lift_words import done_with, lifted_by
from slabwright.sheets.words import Words

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def worked_out(name: str) -> Plan:
    return plan(load_job(EXAMPLES / name / "job.toml"))


def with_hands(name: str, hands: Hands, **head: object) -> tuple[Plan, Masses, tuple[Lift, ...], tuple[Finding, ...]]:
    """The lifts of an example with other hands in its shop."""
    whole = worked_out(name)
    stated = whole.job.stated
    if head:
        stated = stated.model_copy(update={"job": stated.job.model_copy(update=head)})
    shop = whole.job.shop.model_copy(update={"hands": hands})
    job = dataclasses.replace(whole.job, stated=stated.model_copy(update={"hands": None}), shop=shop)
    result, _ = masses(job, whole.slab, whole.top, whole.base, whole.board)
    assert result is not None
    return dataclasses.replace(whole, job=job), result, *lifts(job, result)


def named(found: tuple[Lift, ...], start: str) -> Lift:
    return next(lift for lift in found if lift.name.startswith(start))


def test_two_ends_share_by_their_distance() -> None:
    assert end_weights(90.0, 300.0, 0.0, 900.0) == pytest.approx((60.0, 30.0))
    assert end_weights(90.0, 450.0, 0.0, 900.0) == pytest.approx((45.0, 45.0))
    # On a flight what lies above the holds comes to the lower end: by height x tan(slope) / distance.
    lower, upper = end_weights_on_stairs(90.0, 450.0, 200.0, 0.0, 900.0, 45.0)
    assert (lower, upper) == pytest.approx((45.0 + 20.0, 45.0 - 20.0))
    with pytest.raises(SlabwrightError, match="less than nothing"):
        end_weights(-1.0, 0.0, -1.0, 1.0)
    with pytest.raises(SlabwrightError, match="apart"):
        end_weights(1.0, 0.0, 1.0, 1.0)


def test_people_of_a_team_bear_two_thirds_and_a_half() -> None:
    """HSE guidance L23: 20 kg each make 26.6 kg for two, 30 for three."""
    assert people_by_hand((10.0, 10.0), 20.0) == 1
    assert people_by_hand((13.3, 13.3), 20.0) == 2
    assert people_by_hand((13.4, 13.4), 20.0) == 4
    assert people_by_hand((20.0, 10.0), 20.0) == 3
    assert people_by_hand((20.0, 20.0), 20.0) == 4
    assert people_by_hand((20.1, 20.0), 20.0) is None
    # Turned over on its edge: only the lifted edge is borne, and never by one alone.
    assert people_by_hand((1.0, 1.0), 20.0, "one") == 2


def test_alone_without_aids_only_the_leg_frames_are_lifted() -> None:
    _, _, found, told = with_hands("reading-table", Hands())
    frame = named(found, "Leg frame")
    assert (frame.alone, frame.ready, frame.people, frame.count) == ("yes", True, 1, 2)
    assert frame.lifting_index is not None and frame.weight_limit is not None
    assert frame.lifting_index == pytest.approx(frame.mass / frame.weight_limit)
    for lift in found:
        if lift is not frame:
            assert (lift.alone, lift.ready) == ("no", False)
            assert lift.lifting_index is None and lift.why_not
            assert sum(lift.per_end) == pytest.approx(lift.mass)
    lacking = next(each for each in told if each.code == "carry/too-few-hands")
    assert lacking.severity == "caution" and "slab off the van" in lacking.message and "hoist" in lacking.remedy


def test_the_lifting_index_is_that_of_its_equation() -> None:
    """A leg frame taken off the bench and stood on the floor: the lower limit of both ends, by the formulas written out."""
    _, _, found, _ = with_hands("reading-table", Hands(bed_height=800.0))
    frame = named(found, "Leg frame")
    high, low = 80.0 + frame.height / 20.0, frame.height / 20.0
    reach = 20.0 + 12.0 / 2.0  # what its plates and tubes measure along: 120 mm
    common = 23.0 * (25.0 / reach) * (0.82 + 4.5 / 80.0)
    limits = [common * (1 - 0.003 * abs(v - 75.0)) * (0.95 if v < 75.0 else 1.0) for v in (high, low)]
    assert frame.weight_limit == pytest.approx(min(limits))


def test_an_aid_at_hand_makes_it_one_persons_work() -> None:
    hands = Hands(aids=["hoist"], hoist_most=500.0)
    _, _, found, _ = with_hands("reading-table", hands)
    for start in ("Slab off", "Slab turned", "Blank off", "Top onto"):
        lift = named(found, start)
        assert (lift.alone, lift.people, lift.aid, lift.aid_here) == ("with an aid", 1, "hoist", True)
        assert lift.why_not == "a hoist, a lever or a slope takes a part of the weight"
    assert named(found, "Piece into").alone == "no"
    weak = with_hands("reading-table", Hands(aids=["hoist"], hoist_most=100.0))[2]
    assert not named(weak, "Slab off").ready and named(weak, "Top onto").ready


def test_by_hand_where_enough_are_there() -> None:
    _, _, found, told = with_hands("window-bench", Hands(people=4, alone_most=60.0))
    top = named(found, "Top onto")
    assert (top.people, top.aid, top.ready, top.alone) == (1, None, True, "yes")
    assert top.lifting_index is None and top.why_not == "it is carried more than a step or two, pushed or pulled"
    slab = named(found, "Slab turned")
    assert slab.people == 2 and slab.why_not == "more than one person lifts"
    piece = named(found, "Piece into")
    assert piece.people == 2 and piece.ready
    assert "carry/too-few-hands" not in [each.code for each in told]


def test_a_heavy_leg_frame_is_told_by_its_index() -> None:
    _, _, found, told = with_hands("hall-desk", Hands(alone_most=40.0))
    frame = named(found, "Leg frame")
    assert frame.lifting_index is not None and frame.lifting_index > 1.0
    assert "carry/lifting-index" in [each.code for each in told]
    # In an inch job the manual's own set of inches and pounds is taken: limits in lb, held in kg.
    assert frame.weight_limit is not None and frame.weight_limit < 51 * 0.45359237


def test_steps_are_left_out_where_there_are_none() -> None:
    _, result, found, _ = with_hands("reading-table", Hands(steps=0))
    assert not any(lift.name == "Up the steps" for lift in found)
    whole = with_hands("reading-table", Hands(steps=0))[0]
    again, _ = lifts(whole.job, result, steps=12)
    assert named(again, "Up the steps").ends == ("lower end", "upper end")
    assert "the top" in named(again, "Up the steps").instead


def test_what_is_not_stated_is_said() -> None:
    whole = worked_out("reading-table")
    job = dataclasses.replace(whole.job, where={})
    result, _ = masses(job, whole.slab, whole.top, whole.base, whole.board)
    assert result is not None
    assert "carry/hands-unstated" in [each.code for each in lifts(job, result)[1]]


def test_only_what_a_job_states_stands_in_the_shops_place() -> None:
    shop = Hands(people=2, aids=["hoist"])
    assert hands_of(shop, None) is shop
    both = hands_of(shop, Hands(people=5))
    assert (both.people, both.aids) == (5, ["hoist"])
    assert Hands(people=2).delivering() == 2 and Hands(people=2, people_on_delivery=4).delivering() == 4


@pytest.mark.parametrize(
    ("table", "key", "said"),
    [
        ("[hands]\npeople = 0\n", "hands.people", "1"),
        ("[hands]\nalone_most = -5\n", "hands.alone_most", "more than 0"),
        ("[hands]\naids = ['crane']\n", "hands.aids", "hoist"),
        ("[hands]\naids = ['dolly']\nhoist_most = 100\n", "hands", "aids has no 'hoist'"),
        ('[slab]\nspecies = "ash, white"\nweighed = -80\n', "slab.weighed", "more than 0"),
        ('[slab]\nspecies = "ash, white"\nweighed = "80 m"\n', "slab.weighed", "weight such as"),
    ],
)
def test_wrong_hands_and_weights_name_their_key(table: str, key: str, said: str, tmp_path: Path) -> None:
    file = tmp_path / "job.toml"
    file.write_text(f'[job]\ntitle = "t"\n{table}', "utf-8")
    with pytest.raises(SlabwrightError) as error:
        load_job(file)
    assert key in str(error.value) and said in str(error.value) and "job.toml:" in str(error.value)


def test_weights_are_pounds_in_an_inch_job(tmp_path: Path) -> None:
    file = tmp_path / "job.toml"
    file.write_text('[job]\ntitle = "t"\nunits = "inch"\n[slab]\nspecies = "ash, white"\nweighed = 200\n', "utf-8")
    slab = load_job(file).stated.slab
    assert slab is not None and slab.weighed == pytest.approx(90.718474)


@pytest.mark.parametrize(
    ("typed", "kilograms"),
    [
        (95, 95.0),
        ("95", 95.0),
        ("95 kg", 95.0),
        ("1,5 kg", 1.5),
        ("210 lb", 95.2543977),
        ("12oz", 0.34019428),
        ("500 g", 0.5),
    ],
)
def test_weights_as_people_type_them(typed: object, kilograms: float) -> None:
    assert parse_mass(typed) == pytest.approx(kilograms)


@pytest.mark.parametrize("typed", ["", "heavy", "5 m", "1,234 kg", True, None, "1e9", 10**9, float("nan"), "5 kg 3 g"])
def test_what_is_no_weight_is_refused(typed: object) -> None:
    with pytest.raises(QuantityError, match="write a weight such as"):
        parse_mass(typed)


def test_the_equation_refuses_what_cannot_be() -> None:
    with pytest.raises(SlabwrightError, match="one person"):
        why_not(Conditions(people=0))
    with pytest.raises(SlabwrightError, match="one hand"):
        why_not(Conditions(hands=0))
    with pytest.raises(SlabwrightError, match="below zero"):
        weight_limit(Grip(-1.0, 75.0), origin=75.0, travel=25.0)
    with pytest.raises(SlabwrightError, match="less than nothing"):
        lifting_index(-1.0, [weight_limit(Grip(25.0, 75.0), origin=75.0, travel=25.0)])
    beyond = weight_limit(Grip(64.0, 75.0), origin=75.0, travel=25.0)
    assert beyond.limit == 0.0 and lifting_index(5.0, [beyond]) is None
    assert frequency_multiplier(99.0, "short", low=False) == 0.0


@pytest.mark.parametrize("name", ["reading-table", "hall-desk"])
@pytest.mark.parametrize("hands", [Hands(), Hands(people=4, alone_most=60.0, aids=["hoist"])], ids=["alone", "four"])
@pytest.mark.parametrize("head", [{"units": "metric", "paper": "A4"}, {"units": "inch", "paper": "Letter"}], ids=str)
def test_cards_tell_each_lift_on_as_many_pages_as_sheets(
    name: str, hands: Hands, head: dict[str, object], monkeypatch: pytest.MonkeyPatch
) -> None:
    whole, result, found, _ = with_hands(name, hands, **head)
    context = Context(whole)
    sheets = lift_sheets(context, found, result)
    monkeypatch.setattr(document, "bench_sheets", lambda _: sheets)
    reader = PdfReader(io.BytesIO(document.bench_pdf(context)))
    assert len(reader.pages) == len(sheets) == 2
    said = " ".join(" ".join(page.extract_text().replace("\u00a0", " ").split()) for page in reader.pages)
    words = Words(head["units"])  # type: ignore[arg-type]
    for lift in found:
        assert lift.name in said
        for weight in lift.per_end:
            assert words.weight(weight) in said
        assert words.weight_most(lift.mass_high) in said
    assert "Feet clear" in said and "Alone?" in said


@pytest.mark.parametrize("name", ["reading-table", "hall-desk"])
def test_no_words_leave_a_card(name: str) -> None:
    _, _, found, _ = with_hands(name, Hands(people=4, alone_most=60.0))
    for lift in found:
        drawing = card(lift, 60.0, Words("inch"))
        root = ElementTree.fromstring(drawing.svg())
        for text in root.iter("{http://www.w3.org/2000/svg}text"):
            wide = 0.5 * float(text.attrib["font-size"]) * len(text.text or "")
            left = float(text.attrib["x"]) - wide * {"start": 0.0, "end": 1.0}[text.attrib["text-anchor"]]
            assert left > -1.0 and left + wide < 61.0


def test_the_head_of_a_card_tells_what_is_done_with_what_is_at_hand() -> None:
    lone = named(with_hands("reading-table", Hands())[2], "Top onto")
    head, more = done_with(lone)
    assert head == "Not with what is at hand"
    assert more[-1].endswith("orrow a hoist: 1 person")
    drawn = card(lone, 61.0, Words("metric", "EUR")).svg()
    assert head in drawn and "With hoist" not in drawn
    assert lifted_by(lone).startswith("not with what is at hand: ")
    ready = named(with_hands("reading-table", Hands(aids=["hoist"]))[2], "Top onto")
    assert done_with(ready) == ("With the hoist", ["1 person"])
    assert lifted_by(ready) == "1 person with the hoist"
    two = named(with_hands("reading-table", Hands(people=2, alone_most=80.0))[2], "Top onto")
    assert done_with(two) == ("2 people by hand", [])


def test_a_base_is_drawn_as_it_stands() -> None:
    whole, _, found, _ = with_hands("reading-table", Hands())
    frame = named(found, "Leg frame")
    steel = seen_of(whole.base, frame)
    assert steel is not None and whole.base is not None
    assert steel.bounds[3] - steel.bounds[1] == pytest.approx(frame.height, rel=0.1)
    assert card(frame, 61.0, Words("metric", "EUR"), steel).svg() != card(frame, 61.0, Words("metric", "EUR")).svg()
    assert seen_of(whole.base, named(found, "Top onto")) is None
