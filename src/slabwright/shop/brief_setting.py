"""Where the piece stands: room behind, floor, sun, sockets, monitor arms, doors, and the outline on the client's floor."""

from __future__ import annotations

from collections.abc import Iterator

from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.job.brief_models import Brief
from slabwright.job.loaded import Job
from slabwright.quantities import format_length
from slabwright.reference.seating import seating
from slabwright.shop.brief_places import Piece


def _told(job: Job, size: float) -> str:
    return format_length(size, job.stated.job.units)


def room_behind(job: Job, brief: Brief) -> Iterator[Finding]:
    """Room to push a chair back."""
    if brief.behind is None:
        return
    row = seating()["behind"]
    least = row["passage"] if brief.passage else row["least"]
    if brief.behind < least:
        why = "for people to walk past those who sit" if brief.passage else "to push a chair back and get up"
        yield Finding(
            "brief/room-behind",
            "caution",
            f"There are {_told(job, brief.behind)} behind the edge; {_told(job, least)} is asked for {why}.",
            f"A top that is {_told(job, least - brief.behind)} narrower, or another place for it.",
            row.source,
        )


def floor(job: Job, brief: Brief, piece: Piece) -> Iterator[Finding]:
    """What it stands on."""
    off = brief.floor_off
    if off is not None and off > piece.travel:
        how = "levellers that travel farther" if piece.levellers else "levellers: [base.feet] kind"
        yield Finding(
            "brief/floor",
            "caution",
            f"The floor is low by {_told(job, off)} under one foot, and the feet screw out by {_told(job, piece.travel)}.",
            f"Take {how}, or lay the foot on a pad of {_told(job, off - piece.travel)}.",
        )
    elif brief.floor == "uneven" and not piece.levellers:
        yield Finding(
            "brief/floor",
            "caution",
            "The floor is uneven, and the feet cannot be screwed: it will rock.",
            "[base.feet] kind levellers; measure how far the floor is off: [brief] floor_off.",
        )
    if brief.floor == "rug":
        yield Finding(
            "brief/rug",
            "note",
            "It stands on a rug: feet sink in, and chairs pull less easily.",
            "Wide feet; all feet on the rug or all beside it; set its height again after a week.",
        )


def sun(job: Job, brief: Brief) -> Iterator[Finding]:
    """Sun that falls on it."""
    if brief.sun == "strong":
        yield Finding(
            "brief/sun",
            "note",
            "Strong sun falls on it: the wood changes colour, and where things stand it stays as it was; its top dries faster"
            " than its underside.",
            "A finish with a filter for ultraviolet, blinds, and nothing left standing for the first months.",
        )


def sockets(job: Job, brief: Brief) -> Iterator[Finding]:
    """Whether cords reach the sockets."""
    row = seating()["cord"]
    mains = [cable for cable in job.stated.cables if cable.mains]
    # A cord whose free end is not stated is reckoned as long as its socket asks for; its route tells whether it does.
    reaches = [cable.reach for cable in mains if "reach" in cable.model_fields_set]
    if mains and not reaches:
        reaches = [socket.distance for socket in brief.sockets]
    reach = max(reaches, default=row["usual"])
    for number, socket in enumerate(brief.sockets, 1):
        if socket.distance > reach:
            name = socket.name or f"socket {number}"
            usual = "" if reaches else ", as cords usually are"
            yield Finding(
                "brief/socket",
                "caution",
                f"{name}: it is {_told(job, socket.distance)} away, and the cord's free end reaches"
                f" {_told(job, reach)}{usual}.",
                f"A listed assembly with a cord that is {_told(job, socket.distance - reach)} longer, or a nearer socket; no"
                " extension cord as a fixture, and none under the rug.",
                row.source if not reaches else COMMON_PRACTICE,
            )
    if any(cable.mains for cable in job.stated.cables) and not brief.sockets:
        yield Finding(
            "brief/no-socket",
            "note",
            "It has a mains cable, and no socket is stated.",
            "State [[brief.sockets]] distance, along floor and wall.",
        )


def monitors(job: Job, brief: Brief, piece: Piece) -> Iterator[Finding]:
    """Whether monitor arms hold on to the top."""
    if piece.thickness is None:
        return
    for number, arm in enumerate(brief.monitor_arms, 1):
        name = arm.name or f"monitor arm {number}"
        if arm.thickness_most is not None and piece.thickness > arm.thickness_most:
            yield Finding(
                "brief/monitor-arm",
                "caution",
                f"{name}: its {arm.fixing} takes at most {_told(job, arm.thickness_most)}, and the top is"
                f" {_told(job, piece.thickness)} thick.",
                "An arm with a longer clamp, a recess under its foot, or a bolt through a let-in plate.",
                "the arm's maker",
            )
        elif piece.thickness < arm.thickness_least:
            yield Finding(
                "brief/monitor-arm",
                "caution",
                f"{name}: its {arm.fixing} takes {_told(job, arm.thickness_least)} at least, and the top is"
                f" {_told(job, piece.thickness)} thick.",
                "A block of the same wood under the clamp.",
                "the arm's maker",
            )
        if arm.fixing == "clamp" and job.stated.piece.live_edges == "both":
            yield Finding(
                "brief/live-edge-clamp",
                "note",
                f"{name}: a clamp does not sit square on a live edge.",
                "Clamp it at an end, or bolt it through.",
            )


def doors(job: Job, brief: Brief, piece: Piece) -> Iterator[Finding]:
    """Whether the top alone, on its long edge, goes through each door; the way in is proved by `[delivery]`."""
    if piece.width is None or piece.thickness is None or piece.length is None:
        return
    row = seating()["door"]
    hands = row["hands"]
    for number, door in enumerate(brief.doors, 1):
        name = door.name or f"door {number}"
        on_edge = door.height >= piece.width + hands and door.width >= piece.thickness + 2.0 * hands
        flat = door.width >= piece.width + 2.0 * hands
        if not on_edge and not flat:
            yield Finding(
                "brief/door",
                "stop",
                f"{name}: {_told(job, door.width)} x {_told(job, door.height)} does not let a top of {_told(job, piece.width)} x"
                f" {_told(job, piece.thickness)} through, flat or on its edge.",
                "A window or another way in, or a top in two parts; prove the way: [delivery].",
                row.source,
            )
    if brief.doors and job.stated.delivery is None:
        yield Finding(
            "brief/way-in",
            "note",
            "Doors alone do not prove the way in: corners, stairs and lifts do.",
            "Walk it with a tape and state [delivery] steps before the slab is bought.",
        )


def template(job: Job, brief: Brief) -> Iterator[Finding]:
    """Whether the outline on the floor is the piece, and signed."""
    laid_out, piece = brief.template, job.stated.piece
    if laid_out is None:
        return
    off = [
        f"{word} {_told(job, laid)} on the floor, {_told(job, wanted)} in the job"
        for word, laid, wanted in (("long", laid_out.length, piece.length), ("wide", laid_out.width, piece.width))
        if wanted is not None and abs(laid - wanted) > 1.0
    ]
    if off:
        yield Finding(
            "brief/template-differs",
            "stop",
            f"The outline that was laid on the client's floor is not the piece's: {'; '.join(off)}.",
            "Lay it out again and have it signed, or change [piece].",
        )
    elif not laid_out.signed_by:
        yield Finding(
            "brief/template-unsigned",
            "caution",
            "The outline on the client's floor is not signed.",
            "Have it signed before the slab is bought: [brief.template] signed_by.",
        )
