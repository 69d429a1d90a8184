"""The cut list: long and short points, mitres, stops, orders, offcuts, wide plates, and what cannot be cut."""

from __future__ import annotations

import math

import pytest

from slabwright.accounts import accounts, as_plain
from slabwright.base.cut_list import cut_list, default_supplies
from slabwright.base.cut_list_results import CutList, OffcutOnHand, Part, Saw, Supply, Yard
from slabwright.base.sections import section
from slabwright.findings import SlabwrightError

TUBE = section("60x60x4")
SAW = Saw(kerf=2.5)
SIX = (Supply(6000.0, 60.0),)


def loop(count: int = 1) -> list[Part]:
    return [
        Part("rail", TUBE, 800.0, (45.0, 45.0), 2 * count),
        Part("upright", TUBE, 700.0, (45.0, 45.0), 2 * count),
    ]


def holds_all(done: CutList) -> None:
    """Each part is sawn as often as asked, within its length, one after another with a cut between."""
    sawn: dict[str, int] = {}
    for length in done.lengths:
        assert length.used <= length.length + 1e-6
        at = 0.0
        for piece in length.pieces:
            assert piece.start >= at - 1e-6
            at = piece.end
            sawn[piece.part] = sawn.get(piece.part, 0) + length.times
        assert at <= length.used + 1e-6
    assert sawn == {part.name: part.count for part in done.parts}


def test_points_of_a_mitred_frame() -> None:
    done = cut_list(loop(), saw=SAW, supplies=SIX)
    rail, upright = done.parts
    assert [rail.long_points, rail.short_points] == pytest.approx([800.0, 680.0])
    assert [upright.long_points, upright.short_points] == pytest.approx([700.0, 580.0])
    assert rail.mass == pytest.approx(0.740 * 6.71)
    holds_all(done)


def test_mitres_that_nest_share_their_cuts() -> None:
    done = cut_list(loop(), saw=SAW, supplies=SIX)
    (length,) = done.lengths
    cut = 2.5 * math.sqrt(2.0)
    assert length.used == pytest.approx(2 * 740.0 + 2 * 640.0 + 3 * cut + 60.0)
    assert [piece.shares_cut for piece in length.pieces] == [False, True, True, True]
    assert length.offcut == pytest.approx(6000.0 - length.used - 2.5)
    assert done.cuts == 5


def test_long_points_on_opposite_faces() -> None:
    (part,) = cut_list([Part("brace", TUBE, 800.0, (45.0, 45.0), opposite=True)], saw=SAW, supplies=SIX).parts
    assert part.short_points == pytest.approx(800.0 - 60.0)
    (slant,) = cut_list([Part("brace", TUBE, 800.0, (45.0, 0.0), opposite=True)], saw=SAW, supplies=SIX).parts
    assert slant.short_points == pytest.approx(800.0 - 60.0)


def test_mitres_over_the_width_of_a_rectangular_tube() -> None:
    tube = section("80x40x3")
    over_depth, over_width = (
        cut_list([Part("rail", tube, 500.0, (45.0, 45.0), over=over)], saw=SAW, supplies=SIX).parts[0]
        for over in ("depth", "width")
    )
    assert over_depth.short_points == pytest.approx(340.0)
    assert over_width.short_points == pytest.approx(420.0)


def test_what_is_left_on_for_trimming_is_sawn() -> None:
    done = cut_list([Part("leg", TUBE, 700.0, count=4, extra=10.0)], saw=SAW, supplies=SIX)
    assert (done.parts[0].long_points, done.parts[0].rough) == (700.0, 710.0)
    assert done.stops[0].stop == 710.0
    assert done.lengths[0].used == pytest.approx(4 * 710.0 + 3 * 2.5)


def test_stops_are_set_once_for_parts_of_one_length() -> None:
    parts = [
        *loop(2),
        Part("other rail", TUBE, 800.0, (45.0, 45.0), 1),
        Part("foot", TUBE, 800.0, (0.0, 45.0), 2),
        Part("turned foot", TUBE, 800.0, (45.0, 0.0), 1),
    ]
    stops = cut_list(parts, saw=SAW, supplies=SIX).stops
    assert [(stop.stop, stop.mitres, stop.count) for stop in stops] == [
        (800.0, (45.0, 45.0), 5),
        (800.0, (0.0, 45.0), 3),
        (700.0, (45.0, 45.0), 4),
    ]
    assert stops[0].parts == ("rail", "other rail")


def test_orders_and_proof() -> None:
    done = cut_list(loop(4), saw=SAW, supplies=[Supply(6000.0, 60.0), Supply(7315.2, 80.0)])
    holds_all(done)
    (proof,) = done.proofs
    assert proof.proven
    assert proof.price == proof.least_price == sum(bought.price or 0.0 for bought in done.bought)
    assert proof.lengths == sum(bought.count for bought in done.bought)


def test_without_prices_the_least_steel_is_bought() -> None:
    done = cut_list([Part("long", TUBE, 3000.0, count=2)], saw=SAW, supplies=default_supplies("inch"))
    (bought,) = done.bought
    assert (bought.length, bought.count, bought.price) == (6096.0, 1, None)
    assert done.proofs[0].price is None


def test_prices_for_one_section_do_not_serve_another() -> None:
    parts = [Part("leg", TUBE, 700.0), Part("plate", section("flat 100x10"), 300.0)]
    supplies = [Supply(6000.0, 60.0, section=TUBE.name), Supply(3000.0, 40.0)]
    bought = cut_list(parts, saw=SAW, supplies=supplies).bought
    assert [(each.section, each.length, each.price) for each in bought] == [
        ("60x60x4", 6000.0, 60.0),
        ("flat 100x10", 3000.0, 40.0),
    ]


def test_an_offcut_on_hand_is_used_and_the_new_one_kept() -> None:
    parts = [Part("leg", TUBE, 700.0, count=9)]
    done = cut_list(
        parts, saw=SAW, supplies=SIX, offcuts=[OffcutOnHand("60x60x4", 1000.0), OffcutOnHand("60x60x3", 5000.0)]
    )
    holds_all(done)
    assert sorted((length.source, length.length) for length in done.lengths) == [
        ("bought", 6000.0),
        ("offcut on hand", 1000.0),
    ]
    assert [(kept.section, kept.count) for kept in done.offcuts] == [("60x60x4", 1)]
    assert done.offcuts[0].length == pytest.approx(6000.0 - 8 * 702.5)
    shorter = cut_list(parts, saw=SAW, supplies=SIX, offcuts=[OffcutOnHand("60x60x4", 1000.0)], keep=400.0)
    assert shorter.offcuts == ()


def test_the_yard_cuts_what_does_not_fit_the_van() -> None:
    parts = [Part("leg", TUBE, 700.0, count=4)]
    done = cut_list(parts, saw=SAW, supplies=SIX, yard=Yard(longest=3200.0, price_per_cut=4.0, kerf=3.0))
    (bought,) = done.bought
    assert (bought.count, bought.price) == (1, 64.0)
    assert sum(bought.yard_cuts) == pytest.approx(6000.0 - 3.0)
    assert max(bought.yard_cuts) <= 3200.0
    assert [kept.length for kept in done.offcuts] == [pytest.approx(min(bought.yard_cuts))]


def test_the_yard_cuts_where_it_serves_best() -> None:
    """Halves of 2998.5 hold one part of 2900 each; 3200 and the rest hold 3100."""
    long = cut_list([Part("rail", TUBE, 3100.0)], saw=SAW, supplies=SIX, yard=Yard(3200.0, 4.0))
    assert list(long.bought[0].yard_cuts) == pytest.approx([3200.0, 2797.0])
    pair = cut_list([Part("rail", TUBE, 2900.0, count=2)], saw=SAW, supplies=SIX, yard=Yard(3200.0, 4.0))
    assert pair.bought[0].yard_cuts == (2998.5, 2998.5)
    assert pair.bought[0].count == 1


def test_the_first_cut_squares_a_bought_length() -> None:
    parts = [Part("leg", TUBE, 1995.0, count=3)]
    assert cut_list(parts, saw=Saw(kerf=2.5), supplies=SIX).proofs[0].lengths == 1
    assert cut_list(parts, saw=Saw(kerf=2.5, first_cut=15.0), supplies=SIX).proofs[0].lengths == 2


def test_an_angle_does_not_nest() -> None:
    angle = section("angle 50x50x5")
    (length,) = cut_list([Part("rail", angle, 500.0, (45.0, 45.0), 2)], saw=SAW, supplies=SIX).lengths
    assert length.used >= 1000.0


def test_a_plate_wider_than_the_saw_reaches_is_cut_from_both_edges() -> None:
    plate = Part("plate", section("flat 250x10"), 600.0, count=2)
    done = cut_list([plate], saw=Saw(reach=150.0, out_of_square=0.2), supplies=SIX)
    (cut,) = done.two_pass
    assert done.parts[0].passes == 2
    assert cut.first_depth <= 150.0
    assert cut.overlap == pytest.approx(2 * cut.first_depth - 250.0)
    assert cut.overlap > 0.0
    assert cut.ridge == pytest.approx(125.0 * math.tan(math.radians(0.2)))
    assert "Turn the plate over" in cut.how
    assert done.findings == ()


@pytest.mark.parametrize(
    ("part", "code", "says"),
    [
        (Part("rail", TUBE, 800.0, (50.0, 45.0)), "base/mitre-beyond-saw", "50.0° is beyond the saw's 45.0°"),
        (Part("post", TUBE, 6500.0), "base/longer-than-stock", "Post takes 6500 mm of 60x60x4"),
        (Part("plate", section("flat 400x10"), 500.0), "base/wider-than-saw", "400 mm wide"),
        (Part("beam", section("120x60x4"), 900.0, (45.0, 0.0)), "base/wider-than-saw", "169.7 mm wide"),
    ],
)
def test_what_cannot_be_cut_is_told_with_a_remedy(part: Part, code: str, says: str) -> None:
    done = cut_list([part, Part("leg", TUBE, 700.0)], saw=Saw(reach=150.0), supplies=SIX)
    (finding,) = done.findings
    assert (finding.code, finding.severity) == (code, "stop")
    assert says in finding.message
    assert finding.remedy
    assert "leg" in {piece.part for length in done.lengths for piece in length.pieces}


def test_a_part_longer_than_the_van_names_the_van() -> None:
    (finding,) = cut_list([Part("rail", TUBE, 3500.0)], saw=SAW, supplies=SIX, yard=Yard(3000.0)).findings
    assert "the van" in finding.message


@pytest.mark.parametrize(
    ("part", "says"),
    [
        (Part("stub", TUBE, 100.0, (45.0, 45.0)), "its mitres meet"),
        (Part("stub", TUBE, 0.0), "a length above 0"),
        (Part("stub", TUBE, 100.0, count=0), "a count of 1"),
        (Part("stub", TUBE, 100.0, (95.0, 0.0)), "less than 90"),
    ],
)
def test_figures_that_make_no_part(part: Part, says: str) -> None:
    with pytest.raises(SlabwrightError, match=says):
        cut_list([part], saw=SAW, supplies=SIX)


def test_every_figure_has_its_account_and_can_be_written() -> None:
    done = cut_list(loop(), saw=SAW, supplies=SIX)
    assert as_plain(done)["bought"][0]["section"] == done.parts[0].section
    assert all(account.description.meaning for account in accounts(done, "base.cut_list"))
