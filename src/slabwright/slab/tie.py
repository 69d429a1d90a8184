"""Two faces from two set-ups: face B, read after turning the slab over, brought into face A's frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.accounts import figure, working
from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Face, Floats, Grid, Scatter, as_scatter
from slabwright.geometry.rigid import RigidFitError, fit_rigid
from slabwright.job.loaded import Readings
from slabwright.job.models import Mark, Slab
from slabwright.quantities import Units, format_length
from slabwright.slab.local_height import local_height, well_posed
from slabwright.slab.sag import deflection

CHECKED_FROM = 6
"""Calliper places from which a tie is checked: as many as fix it, bow included, and two more."""
STIFFNESS_VARIES = 0.22
"""Coefficient of variation of the modulus of elasticity from board to board (Wood Handbook, from memory)."""
_MID_SPAN = (0.3, 0.7)
_SOURCE = "weighted least squares"


@dataclass(frozen=True)
class Tie:
    """How two set-ups were tied into one frame: z_A = z_B' + offset + tilt, and a bending term.

    The covariance is of (offset [mm], slope along x, slope along y, bending [mm at mid-length]), shape (4, 4).
    """

    offset: float = figure(
        "mm",
        "height of face B's frame in face A's",
        how="the offset at x = y = 0 that brings both faces as far apart as the callipers say",
        rests_on=("job:slab.callipers", "job:slab.survey_a", "job:slab.survey_b"),
        sure="part of standard_error",
        source=_SOURCE,
        change="measure more calliper places, spread over the slab",
    )
    tilt_x: float = figure(
        "deg",
        "turn of the second set-up about the x axis",
        how="the slope across that brings both faces as far apart as the callipers say",
        rests_on=("job:slab.callipers", "job:slab.survey_a", "job:slab.survey_b"),
        sure="part of standard_error",
        source=_SOURCE,
        change="calliper places near both long edges",
    )
    tilt_y: float = figure(
        "deg",
        "turn of the second set-up about the y axis",
        how="the slope along that brings both faces as far apart as the callipers say",
        rests_on=("job:slab.callipers", "job:slab.survey_a", "job:slab.survey_b"),
        sure="part of standard_error",
        source=_SOURCE,
        change="calliper places near both ends",
    )
    turn: float = figure(
        "deg",
        "turn of the second set-up in plan, from the marks",
        how="least squares over the marks; 0 where there are none",
        rests_on=("job:slab.marks",),
        sure="as well as the marks were read",
        source="Kabsch 1976",
        change="marks further apart",
    )
    shift_x: float = figure(
        "mm",
        "shift of the second set-up along the grain, from the marks",
        how="least squares over the marks; 0 where there are none",
        rests_on=("job:slab.marks",),
        sure="as well as the marks were read",
        source="Kabsch 1976",
        change="more marks",
    )
    shift_y: float = figure(
        "mm",
        "shift of the second set-up across, from the marks",
        how="least squares over the marks, y turned over; 0 where there are none",
        rests_on=("job:slab.marks",),
        sure="as well as the marks were read",
        source="Kabsch 1976",
        change="more marks",
    )
    bending: float | None = figure(
        "mm",
        "bow between the two set-ups at mid-length; empty where there are too few calliper places",
        how="height of a parabola along the slab, nothing at its ends, fitted with the offset and the tilts",
        rests_on=("job:slab.callipers", "job:slab.lay.supports"),
        sure="part of standard_error",
        source=_SOURCE,
        change="six calliper places or more, two of them near mid-length",
    )
    residuals: tuple[float, ...] = figure(
        "mm",
        "what each calliper place disagrees by",
        how="thickness by callipers less thickness of the tied faces",
        rests_on=("job:slab.callipers",),
        sure="exact",
        change="measure the place again",
    )
    standard_error: float = figure(
        "mm",
        "of the slab's thickness at its middle, from the tie alone",
        how="from the fit: errors of the callipers, of both faces at each place, and of a bow that was not fitted",
        rests_on=("job:slab.callipers", "job:slab.reading_error", "job:slab.lay.supports"),
        sure="callipers are taken to be as good as the gauge",
        source=_SOURCE,
        change="more calliper places",
    )
    checked: bool = figure(
        "",
        "whether more calliper places than unknowns check the tie",
        how="six places or more",
        rests_on=("job:slab.callipers",),
        sure="exact",
        change="six calliper places or more",
    )
    covariance: Floats = working()
    slips: Floats | None = working(None)
    """For each place: by how much it is thicker than the other places make it [mm], and how many standard errors that is,
    shape (n, 2); zeros where the others leave it unchecked; None where not worked out."""


def bow(x: Floats, start: float, length: float) -> Floats:
    """The unit parabola 4 u (1 - u), u = (x - start) / length: 1 at mid-length, 0 at the ends."""
    along = (x - start) / length
    return np.asarray(4.0 * along * (1.0 - along))


def tie(
    readings: Readings,
    slab: Slab,
    modulus: float,
    density: float,
    extent: tuple[float, float],
    units: Units = "metric",
) -> tuple[Tie, Face]:
    """Tie face B's frame to face A's by callipers and marks.

    The slab is turned over about its length: x stays, y and z change sign; marks give turn and shift in plan. Then

        z_B = z_B' + offset + p x + q y + bending 4 u (1 - u)
        thickness = z_A - z_B at each calliper place

    by weighted least squares. Each face's height at a place comes from its nearest readings, with its own standard error;
    callipers are taken to be as good as a reading of the gauge. The bow is fitted from six places on if two of them are near
    mid-length; where it is not, what it may be goes into the covariance. Tilts are taken as slopes: at a slope of 0.02 that
    misplaces heights by less than 0.01 mm.

    Args:
        readings: of both set-ups, each freed of its sag where the bearers are stated
        slab: marks, reading error, and how it lay
        modulus: of elasticity along the grain [MPa]
        density: at its moisture content [kg/m3]
        extent: where the slab starts along x, and its length [mm]
        units: of the messages

    Returns:
        The tie, and face B in face A's frame; a grid stays a grid where no mark turns it.

    Raises:
        SlabwrightError: fewer than three calliper places, places in a line or off the faces, or marks that do not fit
    """
    places = np.asarray(readings.callipers, dtype=np.float64).reshape(-1, 3)
    if len(places) < 3:
        raise SlabwrightError(
            f"slab.callipers: {len(places)} places; two set-ups are tied by three at least, six for a checked answer: "
            "measure the thickness at places spread over the slab (x,y,thickness)"
        )
    _check_spread(places)
    rotation, shift = _plan(slab.marks, units)
    turned = _turn_over(readings.face_b, rotation, shift)
    start, length = extent
    x, y, thickness = places.T
    above, unsure_above = _heights(readings.face_a, places, slab.reading_error, "A", units)
    below, unsure_below = _heights(turned, places, slab.reading_error, "B", units)
    wanted = above - below - thickness
    variance = unsure_above + unsure_below + slab.reading_error**2
    variance = np.maximum(variance, 1e-12)
    middle_x, middle_y = start + length / 2, float(np.mean(y))
    scale_y = max(float(np.ptp(y)), 1.0)
    bends = bow(x, start, length)
    # Centred and scaled columns keep the fit well conditioned; they are turned back to the frame's origin at the end.
    design = np.column_stack([np.ones_like(x), (x - middle_x) / length, (y - middle_y) / scale_y, bends])
    along = (x - start) / length
    near_middle = np.count_nonzero((along > _MID_SPAN[0]) & (along < _MID_SPAN[1]))
    fits_bow = len(places) >= CHECKED_FROM and near_middle >= 2 and well_posed(design)
    used = design if fits_bow else design[:, :3]
    weighted = used / np.sqrt(variance)[:, None]
    inverse = np.linalg.inv(weighted.T @ weighted)
    gain = inverse @ (weighted / np.sqrt(variance)[:, None]).T
    solved = gain @ wanted
    residuals = wanted - used @ solved
    freedom = len(places) - used.shape[1]
    spread = _disagreement(float((residuals**2 / variance).sum()), freedom)
    covariance = np.zeros((4, 4))
    covariance[: used.shape[1], : used.shape[1]] = inverse * spread
    if not fits_bow:
        unknown = _unknown_bow(slab, extent, float(thickness.mean()), modulus, density)
        lean = np.append(gain @ bends, -1.0)
        covariance += unknown**2 * np.outer(lean, lean)
    back = np.eye(4)
    back[0, 1:3] = -middle_x / length, -middle_y / scale_y
    back[1, 1], back[2, 2] = 1.0 / length, 1.0 / scale_y
    offset, slope_x, slope_y, bending = back @ np.append(solved, [] if fits_bow else [0.0])
    covariance = back @ covariance @ back.T
    at_middle = np.array([1.0, middle_x, middle_y, 1.0])
    face_b = _raised(turned, offset, slope_x, slope_y, bending, extent)
    return (
        Tie(
            offset=float(offset),
            tilt_x=float(np.degrees(np.arctan(slope_y))),
            tilt_y=float(np.degrees(np.arctan(slope_x))),
            turn=float(np.degrees(np.arctan2(rotation[1, 0], rotation[0, 0]))),
            shift_x=float(shift[0]),
            shift_y=float(shift[1]),
            bending=float(bending) if fits_bow else None,
            residuals=tuple(float(value) for value in -residuals),
            standard_error=float(np.sqrt(max(at_middle @ covariance @ at_middle, 0.0))),
            checked=len(places) >= CHECKED_FROM,
            covariance=covariance,
            slips=_slips(-residuals, variance, np.einsum("ij,ji->i", used, gain)),
        ),
        face_b,
    )


def _check_spread(places: Floats) -> None:
    if not (np.isfinite(places).all() and (places[:, 2] > 0).all()):
        raise SlabwrightError("slab.callipers: a thickness is not a number greater than zero")
    spread = places[:, :2] - places[:, :2].mean(axis=0)
    _, size, axes = np.linalg.svd(spread, full_matrices=False)
    across = float(np.ptp(spread @ axes[1]))
    if size[0] == 0.0 or across < max(5.0, 0.005 * float(np.ptp(spread @ axes[0]))):
        raise SlabwrightError(
            "slab.callipers: the places lie in a line, so that the tilt across it is not known; "
            "measure near both long edges"
        )


def _plan(marks: Sequence[Mark], units: Units) -> tuple[Floats, Floats]:
    """Turn (2, 2) and shift (2,) in plan of the turned-over face, from the marks."""
    if not marks:
        return np.eye(2), np.zeros(2)
    fixed = np.array([mark.a for mark in marks], dtype=np.float64)
    moving = np.array([mark.b for mark in marks], dtype=np.float64) * (1.0, -1.0)
    if len(marks) == 1:
        return np.eye(2), fixed[0] - moving[0]
    try:
        fit = fit_rigid(moving, fixed)
    except RigidFitError as error:
        raise SlabwrightError(f"slab.marks: {error}") from error
    turned = abs(np.degrees(fit.turn))
    if fit.mirrored or turned > 10.0:
        raise SlabwrightError(
            f"slab.marks: they fit only with the slab {'mirrored' if fit.mirrored else f'turned {turned:.0f} degrees'}; "
            "face B is read after turning the slab over about its length: x stays, y runs the other way"
        )
    worst = float(np.linalg.norm(fit.residuals, axis=1).max())
    if worst > 10.0:
        raise SlabwrightError(
            f"slab.marks: the marks of both faces miss each other by {format_length(worst, units)}; read them again"
        )
    return fit.rotation, fit.shift


def _turn_over(face: Face, rotation: Floats, shift: Floats) -> Face:
    if isinstance(face, Grid) and np.array_equal(rotation, np.eye(2)):
        return Grid(face.x + shift[0], -face.y[::-1] + shift[1], -face.z[:, ::-1])
    points = as_scatter(face)
    x, y = rotation @ np.vstack([points.x, -points.y]) + shift[:, None]
    return Scatter(x, y, -points.z)


def _raised(
    face: Face, offset: float, slope_x: float, slope_y: float, bending: float, extent: tuple[float, float]
) -> Face:
    along = offset + slope_x * face.x + bending * bow(face.x, *extent)
    if isinstance(face, Grid):
        return Grid(face.x, face.y, face.z + along[:, None] + slope_y * face.y)
    return Scatter(face.x, face.y, face.z + along + slope_y * face.y)


def _heights(face: Face, places: Floats, reading_error: float, name: str, units: Units) -> tuple[Floats, Floats]:
    """Heights of a face at the calliper places and their variances, each shape (n,)."""
    found = np.empty((len(places), 2))
    for index, (x, y, _) in enumerate(places.tolist()):
        try:
            found[index] = local_height(face, x, y, reading_error)
        except SlabwrightError as error:
            raise SlabwrightError(
                f"slab.callipers, place {index + 1} (x = {format_length(x, units)}, y = {format_length(y, units)}), "
                f"face {name}: {error}"
            ) from error
    return found[:, 0], found[:, 1]


def _slips(residuals: Floats, variance: Floats, leverage: Floats) -> Floats:
    """What each place is off from where the others put it, and in standard errors, shape (n, 2)."""
    free = 1.0 - leverage
    told = free > 0.02
    free = np.where(told, free, 1.0)
    slips = np.column_stack([residuals / free, residuals / np.sqrt(variance * free)])
    return np.where(told[:, None], slips, 0.0)


def _disagreement(squares: float, freedom: int) -> float:
    """Factor on the variances where the places disagree by more than their errors explain, once in a hundred by chance."""
    from scipy.special import chdtrc

    if freedom > 0 and float(chdtrc(freedom, squares)) < 0.01:
        return squares / freedom
    return 1.0


def _unknown_bow(slab: Slab, extent: tuple[float, float], thickness: float, modulus: float, density: float) -> float:
    """Standard error of a bow that is not fitted: turning the slab over reverses its sag [mm]."""
    start, length = extent
    lay = slab.lay
    if lay is not None and lay.full_support:
        return 0.0
    across = np.linspace(0.0, length, 101)
    if lay is not None and lay.supports is not None:
        bent = deflection(across, [at - start for at in lay.supports], length, thickness, density, modulus)
        return 2.0 * STIFFNESS_VARIES * float(np.abs(bent).max())
    return float(np.abs(deflection(across, [0.0, length], length, thickness, density, modulus)).max())
