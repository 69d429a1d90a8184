"""What the brief asks of the piece: seats, knees, chair arms; and, from `brief_setting`, where it stands."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from slabwright.accounts import figure
from slabwright.base.base_results import BaseStructure
from slabwright.findings import Finding
from slabwright.job.brief_models import Brief
from slabwright.job.loaded import Job
from slabwright.quantities import format_length
from slabwright.reference.seating import seating
from slabwright.shop.brief_places import Piece, Places, piece_of, places
from slabwright.shop.brief_setting import doors, floor, monitors, room_behind, sockets, sun, template

_LEGS = 60.0
"""What a leg takes of the length at either end of the top [mm]: common practice."""


@dataclass(frozen=True)
class BriefChecks:
    """How the piece meets the brief."""

    places: Places | None = figure("", "places at the top; empty before its length is known")
    knee_room: float | None = figure(
        "mm", "clear height over the floor where knees are", how="height less top, rails and plates"
    )
    knee_room_least: float = figure("mm", "clear height that is asked for", rests_on=("job:brief.knees",))
    arms_room: float | None = figure("mm", "between the chairs' arms and what is above them; empty: no arms are stated")


def brief_checks(
    job: Job, thickness: float | None = None, base: BaseStructure | None = None, width: float | None = None
) -> tuple[BriefChecks | None, tuple[Finding, ...]]:
    """How the piece meets the brief.

    Args:
        job: with `[brief]`
        thickness: of the board as it is known today, thickest likely [mm]; None: as stated
        base: as a structure; None: not planned
        width: of the top, where none is stated [mm]; None: not known

    Returns:
        The checks, or None without a brief; and what there is to say.
    """
    brief = job.stated.brief
    if brief is None:
        return None, ()
    piece = piece_of(job, thickness, base, width)
    found = places(brief, piece)
    least = brief.knees if brief.knees is not None else seating()["knees"]["height"]
    clear = None if piece.underside is None else piece.underside - (piece.hangs or 0.0)
    arms = None
    if brief.chair_arms is not None and clear is not None:
        arms = clear - brief.chair_arms
    made = BriefChecks(places=found, knee_room=clear, knee_room_least=least, arms_room=arms)
    told = [
        *_seats(job, brief, piece, found),
        *_knees(job, brief, made),
        *_arms(job, brief, made),
        *room_behind(job, brief),
        *floor(job, brief, piece),
        *sun(job, brief),
        *sockets(job, brief),
        *monitors(job, brief, piece),
        *doors(job, brief, piece),
        *template(job, brief),
    ]
    return made, tuple(told)


def _told(job: Job, size: float) -> str:
    return format_length(size, job.stated.job.units)


def _seats(job: Job, brief: Brief, piece: Piece, found: Places | None) -> Iterator[Finding]:
    table = seating()
    if brief.seats is None or found is None:
        return
    if found.seats < brief.seats:
        yield Finding(
            "brief/seats",
            "caution",
            f"{brief.seats} are to sit at it, and {found.seats} find a place: {found.on_a_side} on a long side,"
            f" {found.at_ends} at the ends, {_told(job, found.each)} each.",
            _more_places(job, brief, piece, found),
            table["place"].source,
        )
    if piece.width is not None and piece.width < table["across"]["least"] and found.seats > found.on_a_side + 2:
        yield Finding(
            "brief/narrow",
            "note",
            f"People who sit across from each other have {_told(job, piece.width)} between them; "
            f"{_told(job, table['across']['least'])} is usual.",
            "A wider top, or say so to the client.",
            table["across"].source,
        )


def _more_places(job: Job, brief: Brief, piece: Piece, found: Places) -> str:
    """What would give as many places as are wanted; each change is counted out before it is offered."""
    wanted = brief.seats or 0
    need = math.ceil(max(wanted - found.at_ends, 0) / 2.0)
    room = need * found.each
    length = piece.length or 0.0
    if piece.between is not None and room <= length:
        apart = replace(piece, between=room)
        seats = places(brief, apart)
        if room <= length - 2.0 * _LEGS and seats is not None and seats.seats >= wanted:
            return f"Legs {_told(job, room)} apart, clear, give {seats.on_a_side} places on each side."
    longer = room if piece.between is None else length + room - piece.between
    trial = places(brief, replace(piece, length=longer, between=None if piece.between is None else room))
    if longer > length and trial is not None and trial.seats >= wanted:
        return f"A top {_told(job, longer)} long gives {trial.on_a_side} places on each side; or fewer seats."
    return "Fewer seats, or narrower chairs."


def _knees(job: Job, brief: Brief, made: BriefChecks) -> Iterator[Finding]:
    table = seating()
    if made.knee_room is None:
        return
    if made.knee_room < made.knee_room_least:
        short = made.knee_room_least - made.knee_room
        yield Finding(
            "brief/knees",
            "caution",
            f"Knees have {_told(job, made.knee_room)} over the floor; {_told(job, made.knee_room_least)} is asked for.",
            f"A top {_told(job, short)} higher or thinner, or rails that are shallower by that.",
            "the brief" if brief.knees is not None else table["knees"].source,
        )
    if brief.chair_seat is not None:
        room, least = made.knee_room - brief.chair_seat, table["seat_to_underside"]["least"]
        if room < least:
            yield Finding(
                "brief/thighs",
                "caution",
                f"Between the seat and what is above the thighs there are {_told(job, room)}; {_told(job, least)} is the least.",
                f"Seats {_told(job, least - room)} lower, or a higher top.",
                table["seat_to_underside"].source,
            )


def _arms(job: Job, brief: Brief, made: BriefChecks) -> Iterator[Finding]:
    if made.arms_room is None or brief.chair_arms is None:
        return
    least = seating()["arms"]["least"]
    if made.arms_room < least:
        under = "do not go under it" if made.arms_room < 0.0 else "knock against it"
        yield Finding(
            "brief/chair-arms",
            "caution",
            f"The chairs' arms at {_told(job, brief.chair_arms)} {under}: {_told(job, made.knee_room or 0.0)} is clear.",
            f"Chairs with arms of at most {_told(job, brief.chair_arms + made.arms_room - least)}, or a top "
            f"{_told(job, least - made.arms_room)} higher.",
            seating()["arms"].source,
        )
