from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from slabwright.accounts import accounts
from slabwright.findings import Finding, SlabwrightError
from slabwright.geometry.faces import Face, Floats, Grid, Scatter, as_scatter
from slabwright.job.loaded import Job, Readings
from slabwright.job.models import JobFile, ShopFile
from slabwright.slab.sag import deflection
from slabwright.slab.sampling import heights_at, spacing, thinned, unread
from slabwright.slab.survey import Survey, survey, survey_findings

OUTLINE = np.array([(0.0, 0.0), (2000.0, 0.0), (2000.0, 800.0), (0.0, 800.0)])
NONE = np.empty((0, 3))


def stations(x0: float = 0, x1: float = 2000, y0: float = 0, y1: float = 800, n: int = 21, m: int = 9) -> Any:
    x, y = np.meshgrid(np.linspace(x0, x1, n), np.linspace(y0, y1, m), indexing="ij")
    return x.ravel(), y.ravel()


def upper(x: Floats, y: Floats) -> Floats:
    return np.asarray(60.0 + 0.002 * x + 1e-6 * (x - 1000) ** 2)


def lower(x: Floats, y: Floats) -> Floats:
    return np.asarray(0.003 * y)


def job(
    slab: dict[str, Any] | None = None,
    piece: dict[str, Any] | None = None,
    outline: Floats | None = OUTLINE,
    face_a: Face | None = None,
    face_b: Face | None = None,
    callipers: Floats = NONE,
    two_setups: bool = False,
    units: str = "metric",
) -> Job:
    x, y = stations()
    stated = {
        "job": {"title": "Table", "units": units},
        "piece": piece or {},
        "slab": {"species": "ash, white", **(slab or {})},
    }
    readings = Readings(
        face_a or Scatter(x, y, upper(x, y)),
        face_b or Scatter(x, y, lower(x, y)),
        outline,
        None,
        callipers,
        two_setups,
        False,
    )
    return Job(JobFile.model_validate(stated, context={"units": units}), ShopFile(), readings)


def codes(found: Survey, of: Job) -> dict[str, Finding]:
    return {finding.code: finding for finding in survey_findings(found, of)}


BED = {"lay": {"full_support": True}}


def test_one_setup() -> None:
    found = survey(job(BED))
    assert (found.readings_a, found.readings_b) == (189, 189)
    assert (found.clean_a, found.clean_b) == (19 * 7, 19 * 7)
    assert (found.length, found.width) == pytest.approx((1950.0, 780.0))
    assert found.area == pytest.approx(1950 * 780)
    assert found.spacing == pytest.approx(100.0)
    assert found.unread_border == 0.0
    assert found.sag == 0.0
    assert found.tie is None
    x, y = as_scatter(found.face_a).x, as_scatter(found.face_a).y
    thickness = upper(x, y) - lower(x, y)
    assert (found.thickness_least, found.thickness_most) == pytest.approx((thickness.min(), thickness.max()))
    assert codes(found, job(BED)) == {}


def test_grid_is_the_same_as_its_readings() -> None:
    x, y = np.linspace(0, 2000, 21), np.linspace(0, 800, 9)
    gx, gy = np.meshgrid(x, y, indexing="ij")
    gridded = survey(job(BED, face_a=Grid(x, y, upper(gx, gy)), face_b=Grid(x, y, lower(gx, gy))))
    scattered = survey(job(BED))
    assert isinstance(gridded.face_a, Grid)
    for name in ("clean_a", "clean_b", "length", "area", "spacing", "thickness_least", "thickness_most"):
        assert getattr(gridded, name) == pytest.approx(getattr(scattered, name))
    assert np.sort(as_scatter(gridded.face_a).z) == pytest.approx(np.sort(as_scatter(scattered.face_a).z))


def test_sag_on_stated_bearers_is_taken_out_of_both_faces() -> None:
    x, y = stations()
    bent = deflection(x, [200.0, 1900.0], 2000.0, 59.0, 650.0, 12000.0)
    lying = job(
        {"lay": {"supports": [200, 1900]}},
        face_a=Scatter(x, y, upper(x, y) + bent),
        face_b=Scatter(x, y, lower(x, y) + bent),
    )
    found = survey(lying)
    # The stage takes the mean thickness of the readings; 59 mm is within a millimetre of it.
    assert as_scatter(found.all_a).z == pytest.approx(upper(x, y), abs=0.02)
    assert as_scatter(found.all_b).z == pytest.approx(lower(x, y), abs=0.02)
    assert found.sag == pytest.approx(np.abs(bent).max(), rel=0.1)
    assert "slab/sag-unknown" not in codes(found, lying)


def test_sag_is_the_other_way_where_face_a_lay_underneath() -> None:
    up = survey(job({"lay": {"supports": [0, 2000]}}))
    down = survey(job({"lay": {"supports": [0, 2000], "face_down": "A"}}))
    bare = survey(job(BED))
    lifted = as_scatter(up.all_a).z - as_scatter(bare.all_a).z
    assert lifted.max() > 0.2
    assert as_scatter(down.all_a).z - as_scatter(bare.all_a).z == pytest.approx(-lifted)


def test_bearers_are_in_the_slabs_own_frame() -> None:
    x, y = stations(500, 2500)
    moved = job(
        {"lay": {"supports": [700, 2400]}},
        outline=OUTLINE + np.array([500.0, 0.0]),
        face_a=Scatter(x, y, upper(x - 500, y)),
        face_b=Scatter(x, y, lower(x, y)),
    )
    there = survey(job({"lay": {"supports": [200, 1900]}}))
    assert survey(moved).sag == pytest.approx(there.sag)
    assert as_scatter(survey(moved).all_a).z == pytest.approx(as_scatter(there.all_a).z)


def test_unknown_bearers_are_told_with_what_they_may_do() -> None:
    unknown = job()
    found = survey(unknown)
    assert found.sag is None
    told = codes(found, unknown)["slab/sag-unknown"]
    assert told.severity == "caution"
    # 5 w l^4 / (384 E I) over all of its length; quarter points: the ends droop.
    assert found.sag_ends == pytest.approx(5 * 650e-9 * 9.80665 * 2000**4 * 12 / (384 * 12000 * 61.1**2), rel=0.05)
    assert 0.05 < found.sag_quarters / found.sag_ends < 0.15
    assert "0.35 mm on two bearers at its ends" in told.message


def test_short_thick_slab_is_only_noted() -> None:
    x, y = stations(0, 800, 0, 400)
    short = job(outline=OUTLINE * (0.4, 0.5), face_a=Scatter(x, y, 60 + 0 * x), face_b=Scatter(x, y, 0 * x))
    assert codes(survey(short), short)["slab/sag-unknown"].severity == "note"


def turned_over(sag: float) -> Callable[..., Job]:
    """Both set-ups sag by as much (in mid-length), face B read after turning over about x and laid 80 mm higher."""
    x, y = stations(0, 2000, -400, 400)
    u = x / 2000
    sags = sag * 4 * u * (1 - u)
    places = np.array([(100, -300), (150, 300), (950, -350), (1050, 300), (1900, -300), (1850, 310)], float)
    callipers = np.column_stack([places, upper(*places.T) - lower(*places.T)])

    def make(count: int = 6, **slab: Any) -> Job:
        return job(
            slab,
            outline=OUTLINE - (0.0, 400.0),
            face_a=Scatter(x, y, upper(x, y) - sags),
            face_b=Scatter(x, -y, 80.0 - lower(x, y) - sags),
            callipers=callipers[:count],
            two_setups=True,
        )

    return make


def test_half_the_bow_between_two_setups_is_sag() -> None:
    of = turned_over(0.8)(reading_error=0.01)
    found = survey(of)
    assert found.tie is not None
    assert found.tie.bending == pytest.approx(-1.6, abs=1e-6)
    assert found.sag == pytest.approx(0.8, abs=1e-6)
    a, b = as_scatter(found.all_a), as_scatter(found.all_b)
    assert a.z == pytest.approx(upper(a.x, a.y), abs=1e-6)
    assert b.z == pytest.approx(lower(b.x, b.y), abs=1e-6)
    told = codes(found, of)
    assert told["slab/sag-from-tie"].severity == "note"
    assert "slab/tie-unchecked" not in told
    assert "slab/marks-missing" in told


def test_bow_that_drowns_in_its_error_is_left_alone() -> None:
    of = turned_over(0.02)()
    found = survey(of)
    assert found.sag is None
    assert as_scatter(found.all_a).z == pytest.approx(as_scatter(of.readings.face_a).z)  # type: ignore[union-attr]
    assert "slab/sag-unknown" in codes(found, of)


def test_stated_bearers_and_a_bow_are_not_taken_out_twice() -> None:
    # The slab sags as the stated bearers make it, in both set-ups.
    x, y = stations(0, 2000, -400, 400)
    make = turned_over(0.0)(lay={"supports": [0, 2000]}, reading_error=0.001)
    read = make.readings
    assert read is not None
    bent = deflection(x, [0.0, 2000.0], 2000.0, float(read.callipers[:, 2].mean()), 650.0, 12000.0)
    face_a, face_b = as_scatter(read.face_a), as_scatter(read.face_b)
    lying = job(
        {"lay": {"supports": [0, 2000]}, "reading_error": 0.001},
        outline=OUTLINE - (0.0, 400.0),
        face_a=Scatter(face_a.x, face_a.y, face_a.z + bent),
        face_b=Scatter(face_b.x, face_b.y, face_b.z + bent),
        callipers=read.callipers,
        two_setups=True,
    )
    found = survey(lying)
    assert found.tie is not None
    assert found.tie.bending == pytest.approx(0.0, abs=1e-6)
    assert as_scatter(found.all_a).z == pytest.approx(upper(x, y), abs=1e-6)
    assert found.sag == pytest.approx(-bent.min())


def test_few_callipers() -> None:
    make = turned_over(0.2)
    told = codes(survey(make(4)), make(4))
    assert told["slab/tie-unchecked"].severity == "caution"
    with pytest.raises(SlabwrightError, match="2 places"):
        survey(make(2))
    with pytest.raises(SlabwrightError, match="there are none"):
        survey(make(0))


def test_slip_of_the_callipers_is_named() -> None:
    of = turned_over(0.0)()
    assert of.readings is not None
    of.readings.callipers[2, 2] += 4.0
    told = codes(survey(of), of)["slab/tie-disagrees"]
    assert "place 3 (x 950 mm, y -350 mm)" in told.message
    assert "4 mm more" in told.message


def test_unread_border_is_told_with_places() -> None:
    x, y = stations(0, 1700)
    short = job(BED, face_a=Scatter(x, y, upper(x, y)))
    found = survey(short)
    # The region ends at 1975, the last reading of face A at 1700.
    assert found.unread_border == pytest.approx(275.0)
    assert found.unread_places[0][0] == pytest.approx(1975.0)
    assert codes(found, short)["slab/unread-border"].severity == "caution"


def test_gap_along_an_edge_counts_as_unread() -> None:
    x, y = stations()
    kept = ~((y < 150) & (x > 600) & (x < 1400))
    found = survey(job(BED, face_a=Scatter(x[kept], y[kept], upper(x, y)[kept])))
    assert found.unread_border > 100.0
    assert 700 < found.unread_places[0][0] < 1300


def test_coarse_stations_read_to_the_border_are_no_gap() -> None:
    x, y = stations(30, 1970, 15, 785, 5, 3)
    found = survey(job(BED, face_a=Scatter(x, y, upper(x, y)), face_b=Scatter(x, y, lower(x, y))))
    assert found.unread_border < 10.0
    assert found.unread_places == ()


def test_metal_and_through_defects_inside_the_flat() -> None:
    defects = [
        {"kind": "metal", "face": "B", "at": [400, 300], "diameter": 10},
        {"kind": "metal", "face": "A", "at": [5, 400], "diameter": 8},
        {"kind": "void", "face": "B", "at": [900, 300], "diameter": 60, "depth": "through"},
    ]
    of = job({**BED, "defects": defects})
    found = survey(of)
    told = survey_findings(found, of)
    assert [finding.code for finding in told] == ["slab/through", "slab/metal"]
    assert "face B at x 400 mm, y 300 mm" in told[1].message
    assert len(found.defects_a) == 2
    assert len(found.defects_b) == 2


def test_faces_that_nearly_meet() -> None:
    x, y = stations()
    z = upper(x, y)
    z[100] = 4.0
    of = job(BED, face_a=Scatter(x, y, z))
    assert "slab/faces-close" in codes(survey(of), of)


def test_few_readings() -> None:
    x, y = np.array([100.0, 1900.0, 1900.0, 100.0]), np.array([100.0, 100.0, 700.0, 700.0])
    of = job(BED, face_a=Scatter(x, y, upper(x, y)), face_b=Scatter(x, y, lower(x, y)))
    told = [finding for finding in survey_findings(survey(of), of) if finding.code == "slab/few-readings"]
    assert len(told) == 2


def test_no_outline_and_strip_are_told() -> None:
    of = job(BED, {"live_edges": "none", "width": 500}, outline=None)
    told = codes(survey(of), of)
    assert set(told) == {"slab/no-outline", "slab/strip"}
    assert survey(of).width == pytest.approx(510.0)


def test_inches_are_read_as_inches() -> None:
    of = job(BED, {"live_edges": "none", "width": 20}, units="inch")
    assert '"' in codes(survey(of), of)["slab/strip"].message


def test_show_face_decides_what_is_told() -> None:
    x, y = stations()
    readings = Readings(
        Scatter(x, y, upper(x, y)), Scatter(x, y, lower(x, y)), OUTLINE, OUTLINE * (1, 1.2), NONE, False, False
    )
    widths = []
    for face in ("A", "B", "either"):
        stated = job({**BED, "show_face": face})
        widths.append(survey(Job(stated.stated, stated.shop, readings)).width)
    assert widths == pytest.approx([780.0, 940.0, 780.0])


def test_every_figure_has_its_account() -> None:
    bare = [each.path for each in accounts(survey(turned_over(0.8)()), "slab.survey") if not each.description.how]
    assert bare == []


@pytest.mark.parametrize(
    ("of", "said"),
    [
        (lambda: Job(JobFile.model_validate({"job": {"title": "t"}}), ShopFile()), "no readings yet"),
        (lambda: job(face_a=Scatter(stations()[0], stations()[1], np.full(189, -80.0))), "below face B.*swap"),
        (lambda: job(face_a=Scatter(np.zeros(2), np.zeros(2), np.zeros(2))), "face A has 2 readings"),
        (lambda: job(face_b=Scatter(np.arange(9.0), np.full(9, 5.0), np.zeros(9))), "in a line"),
        (lambda: job(face_a=Scatter(np.arange(9.0), np.arange(9.0) * 0.3, np.ones(9))), "in a line"),
        (lambda: job(face_a=Grid(np.arange(9.0), np.zeros(1), np.ones((9, 1)))), "in a line"),
        (lambda: job({"lay": {"supports": [100, 2300]}}), "beyond the slab's end"),
        (
            lambda: job(face_b=Scatter(np.array([0.0, 0, 5]), np.array([0.0, 5, 0]), np.zeros(3))),
            "no reading of face B lies inside",
        ),
    ],
)
def test_readings_that_cannot_be_used(of: Callable[[], Job], said: str) -> None:
    with pytest.raises(SlabwrightError, match=said):
        survey(of())


def test_heights_between_readings() -> None:
    x, y = np.linspace(0, 100, 11), np.linspace(0, 50, 6)
    gx, gy = np.meshgrid(x, y, indexing="ij")
    grid = Grid(x, y, 2 * gx - gy)
    scatter = Scatter(gx.ravel(), gy.ravel(), (2 * gx - gy).ravel())
    at = np.array([3.0, 55.5, 100.0, 130.0]), np.array([7.0, 50.0, 0.0, 10.0])
    for face in (grid, scatter):
        assert heights_at(face, *at)[:3] == pytest.approx((2 * at[0] - at[1])[:3])
        assert np.isnan(heights_at(face, *at)[3])


def test_many_readings_are_sampled_evenly() -> None:
    x, y = stations(n=401, m=161)
    face = Scatter(x, y, x + y)
    sample = thinned(face, 5000)
    assert 2500 < len(sample) < 7500
    assert sample.z == pytest.approx(sample.x + sample.y)
    assert np.histogram2d(sample.x, sample.y, bins=(20, 8))[0].min() > 10
    assert heights_at(face, np.array([1001.0]), np.array([399.0])) == pytest.approx([1400.0])
    assert spacing(face) == pytest.approx(5.0)
    assert unread(survey(job(BED)).region_a, face, 5.0)[0] < 5.0
