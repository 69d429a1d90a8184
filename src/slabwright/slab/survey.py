"""The survey: all readings of the slab in one frame, freed of sag, with the clean region that binds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from shapely import Polygon

from slabwright.accounts import figure, working
from slabwright.findings import COMMON_PRACTICE, SlabwrightError
from slabwright.geometry.faces import Face, Floats, Grid, Scatter
from slabwright.job.loaded import Job, Readings
from slabwright.job.models import Slab
from slabwright.quantities import Units, format_length
from slabwright.slab.region import DefectPlace, defect_places, hull, inside, regions
from slabwright.slab.sag import deflection
from slabwright.slab.sampling import heights_at, spacing, spans, thinned, unread
from slabwright.slab.survey_findings import survey_findings as survey_findings
from slabwright.slab.tie import Tie as Tie
from slabwright.slab.tie import bow, tie

_LOOKED_AT = 50_000
_READINGS = ("job:slab.survey", "job:slab.survey_a", "job:slab.survey_b", "job:slab.survey_units")
_INSETS = (
    "job:slab.outline",
    "job:slab.outline_a",
    "job:slab.outline_b",
    "job:slab.edge_margin",
    "job:slab.end_trim",
    "job:slab.cut_from",
    "job:slab.cut_to",
    "job:piece.live_edges",
    "job:piece.width",
)

LARGEST = (20_000.0, 6_000.0, 600.0)
"""Length, width and mean thickness beyond which readings are no slab's [mm]: common practice."""


@dataclass(frozen=True)
class Survey:
    """The slab as it was read.

    `face_a` and `face_b` hold only readings inside the clean region; `all_a` and `all_b` hold every one (what the slab lies
    on, what the cutter may meet). Heights are freed of sag where the supports were stated.
    """

    readings_a: int = figure(
        "1",
        "readings of face A",
        how="counted in the survey file",
        rests_on=_READINGS,
        sure="exact",
        change="read more places",
    )
    readings_b: int = figure(
        "1",
        "readings of face B",
        how="counted in the survey file",
        rests_on=_READINGS,
        sure="exact",
        change="read more places",
    )
    clean_a: int = figure(
        "1",
        "readings of face A inside the part that will be flat",
        how="counted inside the outline less margins and trims; the border counts as inside",
        rests_on=("slab.survey.readings_a", *_INSETS),
        sure="exact",
        change="read more places, or leave less out along edges and ends",
    )
    clean_b: int = figure(
        "1",
        "readings of face B inside the part that will be flat",
        how="counted inside the outline less margins and trims; the border counts as inside",
        rests_on=("slab.survey.readings_b", *_INSETS),
        sure="exact",
        change="read more places, or leave less out along edges and ends",
    )
    length: float = figure(
        "mm",
        "of the part that will be flat along the grain",
        how="outline of the show face, less end trim and cuts, from its least to its greatest x",
        rests_on=("job:slab.show_face", *_INSETS),
        sure="as the outline",
        source=COMMON_PRACTICE,
        change="trim less off the ends, or move cut_from and cut_to",
    )
    width: float = figure(
        "mm",
        "of the part that will be flat across, at its widest",
        how="outline of the show face, less the margin along live edges, from its least to its greatest y",
        rests_on=("job:slab.show_face", *_INSETS),
        sure="as the outline",
        source=COMMON_PRACTICE,
        change="keep a smaller margin along the edges",
    )
    area: float = figure(
        "mm2",
        "of the part that will be flat, on the show face",
        how="area of the outline of the show face less margins and trims",
        rests_on=("job:slab.show_face", *_INSETS),
        sure="as the outline",
        change="leave less out along edges and ends",
    )
    spacing: float = figure(
        "mm",
        "typical distance between neighbouring readings",
        how="median distance of a reading to the nearest other one, the wider of both faces; on a grid its smaller step",
        rests_on=("slab.survey.readings_a", "slab.survey.readings_b"),
        sure="exact; of a big scan, in a strip across its middle",
        change="read closer together",
    )
    unread_border: float = figure(
        "mm",
        "how far the part that will be flat reaches beyond the outermost reading, at the most",
        how="greatest distance of the region's border from the outermost readings, or from the nearest reading less half a "
        "usual gap; the worse of both faces",
        rests_on=("slab.survey.readings_a", "slab.survey.readings_b", *_INSETS),
        sure="exact, along the border",
        change="read the places that the check names",
    )
    thickness_least: float = figure(
        "mm",
        "least thickness read, as it lies",
        how="face A's readings in the part that will be flat less face B between its own readings, straight down",
        rests_on=_READINGS,
        sure="as the readings; between them it may be less. Of big scans some 50,000 places are looked at",
        change="leave the thin place out, with cut_from, cut_to or the margins",
    )
    thickness_most: float = figure(
        "mm",
        "greatest thickness read, as it lies",
        how="face A's readings in the part that will be flat less face B between its own readings, straight down",
        rests_on=_READINGS,
        sure="as the readings; between them it may be more. Of big scans some 50,000 places are looked at",
    )
    sag: float | None = figure(
        "mm",
        "sag between the bearers when it was read, taken out; empty where the bearers are not known",
        how="the greatest bend of a beam of the slab's mean thickness under its own weight on the stated bearers; of two "
        "set-ups without stated bearers, half the bow between them",
        rests_on=("job:slab.lay.supports", "job:slab.lay.full_support", "job:slab.species", "slab.survey.tie.bending"),
        sure="within a quarter: stiffness differs that much from board to board (from memory)",
        source="Euler-Bernoulli beam",
        change="read the slab on four level bearers or more, or lying all over on a flat bed",
    )
    tie: Tie | None = figure(
        "", "how two set-ups were tied; empty where both faces were read in one", rests_on=("job:slab.callipers",)
    )
    face_a: Face = working()
    face_b: Face = working()
    all_a: Face = working()
    all_b: Face = working()
    outline_a: Polygon = working()
    outline_b: Polygon = working()
    region_a: Polygon = working()
    region_b: Polygon = working()
    sag_ends: float = figure(
        "mm",
        "what it would sag on two bearers at its very ends",
        how="beam of the slab's length and mean thickness under its own weight: 5 q L^4 / (384 E I)",
        rests_on=("job:slab.species", "slab.survey.thickness_least", "slab.survey.thickness_most"),
        sure="within a quarter: stiffness differs that much from board to board (from memory)",
        source="Euler-Bernoulli beam",
        change="bearers further in, or more of them",
        default=0.0,
    )
    sag_quarters: float = figure(
        "mm",
        "what it would bend on two bearers at the quarter points",
        how="beam of the slab's length and mean thickness under its own weight, ends overhanging",
        rests_on=("job:slab.species", "slab.survey.thickness_least", "slab.survey.thickness_most"),
        sure="within a quarter: stiffness differs that much from board to board (from memory)",
        source="Euler-Bernoulli beam",
        default=0.0,
    )
    unread_places: tuple[tuple[float, float], ...] = figure(
        "mm",
        "places on the border that want reading, x and y, the worst first",
        how="where the border lies furthest beyond what was read",
        rests_on=("slab.survey.unread_border",),
        default=(),
    )
    left_out: float = figure(
        "mm2",
        "of smaller pieces of the part that will be flat that are left out",
        how="where margins and trims cut the region in pieces, only the largest counts",
        rests_on=_INSETS,
        sure="as the outline",
        change="a smaller margin, or cut_from and cut_to so that the other piece is used",
        default=0.0,
    )
    outline_given: bool = figure(
        "",
        "whether an outline was given; else it is the outermost readings, without the default margins",
        how="as the job states",
        rests_on=("job:slab.outline", "job:slab.outline_a", "job:slab.outline_b"),
        default=True,
    )
    strip: float | None = figure(
        "mm",
        "width of the strip that binds where the finished width is less than the slab's; empty where all of it does",
        how="finished width and 10 mm for shifting the cut lines, along the slab's middle",
        rests_on=("job:piece.width", "job:piece.live_edges"),
        source=COMMON_PRACTICE,
        change="leave the width out, or keep the edges live",
        default=None,
    )
    defects_a: tuple[DefectPlace, ...] = working(())
    defects_b: tuple[DefectPlace, ...] = working(())


def survey(job: Job, density: float = 650.0, modulus: float = 12000.0) -> Survey:
    """Bring all readings of the slab into one frame, take the sag out, and find the clean region that binds.

    Sag is taken out of both faces alike where the bearers are stated; of two set-ups in each one's own frame, before they are
    tied. A bow that is then left between two set-ups and stands clear of its error is shared by both: without stated bearers
    half of it is the sag, since turning the slab over reverses it.

    Args:
        job: with readings
        density: of the wood at its moisture content [kg/m3]
        modulus: of elasticity along the grain [MPa]

    Raises:
        SlabwrightError: no readings, faces swapped, an outline that misses them, nothing left inside the margins, bearers that
            cannot carry the slab, or two set-ups that cannot be tied
    """
    slab, readings, units = job.stated.slab, job.readings, job.stated.job.units
    if slab is None or readings is None:
        raise SlabwrightError(f"{job.file}: no readings yet; name a file in slab.survey, or survey_a and survey_b")
    for face, name in ((readings.face_a, "A"), (readings.face_b, "B")):
        if len(face) < 3:
            raise SlabwrightError(f"slab.survey: face {name} has {len(face)} readings; three at least are wanted")
        hull(face)
    extent = _extent(readings)
    thickness = _mean_thickness(readings)
    if thickness <= 0:
        raise SlabwrightError(
            f"slab.survey: face A lies below face B ({format_length(-thickness, units)} on average); swap the faces, or turn "
            "z upward"
        )
    _of_a_slab(readings, thickness, units)
    face_a, face_b = readings.face_a, readings.face_b
    sag = _known_sag(slab, extent, thickness, density, modulus)
    if sag:
        down = -1.0 if slab.lay is not None and slab.lay.face_down == "A" and not readings.two_setups else 1.0
        face_a, face_b = (
            _lifted(face, -down * _bent(face.x, slab, extent, thickness, density, modulus)) for face in (face_a, face_b)
        )
    tied: Tie | None = None
    if readings.two_setups:
        freed = replace(readings, face_a=face_a, face_b=face_b)
        tied, face_b = tie(freed, slab, modulus, density, extent, units)
        half = _half_bow(tied, slab)
        if half is not None:
            face_a, face_b = (_lifted(face, -half * bow(face.x, *extent)) for face in (face_a, face_b))
            sag = abs(half) if sag is None else sag
    found = regions(slab, job.stated.piece, face_a, face_b, readings.outline_a, readings.outline_b, units)
    clean_a, clean_b = inside(face_a, found.region_a), inside(face_b, found.region_b)
    for clean, name in ((clean_a, "A"), (clean_b, "B")):
        if not spans(clean):
            count = len(clean)
            told = f"only {count} readings of face {name} lie" if count else f"no reading of face {name} lies"
            told = told if count < 3 else f"all readings of face {name} lie in a line"
            raise SlabwrightError(
                f"slab.survey: {told} inside the part that will be flat; three at least that are not in a line are wanted: "
                "read more places there, or make slab.edge_margin and slab.end_trim smaller and slab.cut_from, slab.cut_to wider"
            )
    apart = max(spacing(face_a), spacing(face_b))
    unread_a, places_a = unread(found.region_a, face_a, apart)
    unread_b, places_b = unread(found.region_b, face_b, apart)
    least, most = _thickness_range(clean_a, face_b)
    shown = found.region_b if slab.show_face == "B" else found.region_a
    low_x, low_y, high_x, high_y = shown.bounds
    length = extent[1]
    ends = deflection(np.array([length / 2]), [0.0, length], length, thickness, density, modulus)
    quarters = deflection(
        np.array([0.0, length / 2]), [length / 4, 3 * length / 4], length, thickness, density, modulus
    )
    return Survey(
        readings_a=len(face_a),
        readings_b=len(face_b),
        clean_a=len(clean_a),
        clean_b=len(clean_b),
        length=float(high_x - low_x),
        width=float(high_y - low_y),
        area=float(shown.area),
        spacing=apart,
        unread_border=max(unread_a, unread_b),
        thickness_least=least,
        thickness_most=most,
        sag=sag,
        tie=tied,
        face_a=clean_a,
        face_b=clean_b,
        all_a=face_a,
        all_b=face_b,
        outline_a=found.outline_a,
        outline_b=found.outline_b,
        region_a=found.region_a,
        region_b=found.region_b,
        sag_ends=float(-ends[0]),
        sag_quarters=float(np.abs(quarters).max()),
        unread_places=places_a if unread_a >= unread_b else places_b,
        left_out=found.left_out,
        outline_given=found.given,
        strip=found.strip,
        defects_a=defect_places(slab.defects, "A"),
        defects_b=defect_places(slab.defects, "B"),
    )


def _extent(readings: Readings) -> tuple[float, float]:
    """Where the slab starts along x, and how long it is: by its outline, else by face A's readings [mm]."""
    outline = readings.outline_a if readings.outline_a is not None else readings.outline_b
    x = outline[:, 0] if outline is not None else readings.face_a.x
    return float(x.min()), max(float(np.ptp(x)), 1.0)


def _of_a_slab(readings: Readings, thickness: float, units: Units) -> None:
    """Refuse what is far larger than any slab: readings in a unit that was not meant, or a slip of metres."""
    places = ((face.x, face.y) for face in (readings.face_a, readings.face_b))
    length, width = (float(max(map(np.ptp, sides))) for sides in zip(*places, strict=True))
    if length > LARGEST[0] or width > LARGEST[1] or thickness > LARGEST[2]:
        raise SlabwrightError(
            f"slab.survey: these readings make a slab {format_length(length, units)} long, {format_length(width, units)} wide "
            f"and {format_length(thickness, units)} thick; check survey_units, and look for a slip in x, y or z"
        )


def _mean_thickness(readings: Readings) -> float:
    if readings.two_setups:
        if len(readings.callipers) == 0:
            raise SlabwrightError(
                "slab.callipers: two set-ups are tied by callipers, and there are none; measure the thickness at six places "
                "or more (x,y,thickness in face A's frame), two of them near mid-length"
            )
        return float(np.mean(readings.callipers[:, 2]))
    sample = thinned(readings.face_a)
    depth = sample.z - heights_at(readings.face_b, sample.x, sample.y)
    known = depth[~np.isnan(depth)]
    if known.size == 0:
        known = np.array([np.mean(sample.z) - np.mean(thinned(readings.face_b).z)])
    return float(known.mean())


def _thickness_range(clean: Face, below: Face) -> tuple[float, float]:
    sample = thinned(clean, _LOOKED_AT)
    depth = sample.z - heights_at(below, sample.x, sample.y)
    known = depth[~np.isnan(depth)]
    if known.size == 0:
        raise SlabwrightError(
            "slab.survey: the faces were not read over each other anywhere; check x and y of both, and survey_units"
        )
    return float(known.min()), float(known.max())


def _known_sag(
    slab: Slab, extent: tuple[float, float], thickness: float, density: float, modulus: float
) -> float | None:
    if slab.lay is None or (slab.lay.supports is None and not slab.lay.full_support):
        return None
    if slab.lay.full_support:
        return 0.0
    along = np.linspace(extent[0], extent[0] + extent[1], 401)
    return float(np.abs(_bent(along, slab, extent, thickness, density, modulus)).max())


def _half_bow(tied: Tie, slab: Slab) -> float | None:
    """Half the bow between two set-ups, where it stands clear of its own error and the slab did not lie all over."""
    if tied.bending is None or (slab.lay is not None and slab.lay.full_support):
        return None
    error = float(np.sqrt(max(tied.covariance[3, 3], 0.0)))
    return tied.bending / 2 if abs(tied.bending) > 2.0 * error else None


def _bent(
    x: Floats, slab: Slab, extent: tuple[float, float], thickness: float, density: float, modulus: float
) -> Floats:
    start, length = extent
    supports = slab.lay.supports if slab.lay is not None and slab.lay.supports is not None else []
    return deflection(x - start, [at - start for at in supports], length, thickness, density, modulus)


def _lifted(face: Face, height: Floats) -> Face:
    """A face raised by a height at each of its x."""
    if isinstance(face, Grid):
        return Grid(face.x, face.y, face.z + height[:, None])
    return Scatter(face.x, face.y, face.z + height)
