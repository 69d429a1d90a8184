"""The survey: all readings of the slab in one frame, freed of sag, with the clean region that binds."""

from __future__ import annotations

from dataclasses import dataclass

from shapely import Polygon

from slabwright.accounts import figure, working
from slabwright.geometry.faces import Face, Floats


@dataclass(frozen=True)
class Tie:
    """How two set-ups were tied into one frame: z_A = z_B' + offset + tilt, and a bending term.

    The covariance is of (offset [mm], slope along x, slope along y, bending [mm at mid-length]), shape (4, 4).
    """

    offset: float = figure("mm", "height of face B's frame in face A's")
    tilt_x: float = figure("deg", "turn of the second set-up about the x axis")
    tilt_y: float = figure("deg", "turn of the second set-up about the y axis")
    turn: float = figure("deg", "turn of the second set-up in plan, from the marks")
    shift_x: float = figure("mm", "shift of the second set-up along the grain, from the marks")
    shift_y: float = figure("mm", "shift of the second set-up across, from the marks")
    bending: float | None = figure(
        "mm", "bow between the two set-ups at mid-length; empty where there are too few calliper places"
    )
    residuals: tuple[float, ...] = figure("mm", "what each calliper place disagrees by")
    standard_error: float = figure("mm", "of the slab's thickness at its middle, from the tie alone")
    checked: bool = figure("", "whether more calliper places than unknowns check the tie")
    covariance: Floats = working()


@dataclass(frozen=True)
class Survey:
    """The slab as it was read.

    `face_a` and `face_b` hold only readings inside the clean region; `all_a` and `all_b` hold every one (what the slab lies
    on, what the cutter may meet). Heights are freed of sag where the supports were stated.
    """

    readings_a: int = figure("1", "readings of face A")
    readings_b: int = figure("1", "readings of face B")
    clean_a: int = figure("1", "readings of face A inside the clean region")
    clean_b: int = figure("1", "readings of face B inside the clean region")
    length: float = figure("mm", "of the clean region along the grain")
    width: float = figure("mm", "of the clean region across, at its widest")
    area: float = figure("mm2", "of the clean region of the show face")
    spacing: float = figure("mm", "typical distance between neighbouring readings")
    unread_border: float = figure("mm", "how far the clean region reaches beyond the outermost reading, at the most")
    thickness_least: float = figure("mm", "least thickness read, as it lies")
    thickness_most: float = figure("mm", "greatest thickness read, as it lies")
    sag: float | None = figure(
        "mm", "sag between the bearers when it was read, taken out; empty where the bearers are not known"
    )
    tie: Tie | None = figure("", "how two set-ups were tied")
    face_a: Face = working()
    face_b: Face = working()
    all_a: Face = working()
    all_b: Face = working()
    outline_a: Polygon = working()
    outline_b: Polygon = working()
    region_a: Polygon = working()
    region_b: Polygon = working()
