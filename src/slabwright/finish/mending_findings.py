"""What to know about the mending that was chosen."""

from __future__ import annotations

from collections.abc import Iterator

from slabwright.findings import COMMON_PRACTICE, FROM_MEMORY, Finding
from slabwright.finish.mending_keys import key_sizes
from slabwright.finish.mending_results import Mended, Mending
from slabwright.job.loaded import Job
from slabwright.job.mend_models import Mend
from slabwright.quantities import Units, format_length
from slabwright.reference.mending import mending_figures

_MOST_NAMED = 6


def mending_findings(job: Job, mending: Mending) -> tuple[Finding, ...]:
    """Checks of the mending: what does not fit, what is not known, what the client has to agree to.

    Args:
        job: what is stated
        mending: the options and what is taken
    """
    units = job.stated.job.units
    found: list[Finding] = []
    asked = {mend.defect: mend for mend in job.stated.mends}
    for mend in mending.mends:
        found += _choice(mend)
        found += _keys(mend, asked.get(mend.number), mending.thickness, units)
    for gone in mending.gone:
        number = int(gone.name[1:])
        if number in asked and asked[number].choose not in (None, "cut off", "leave"):
            found.append(
                Finding(
                    "finish/nothing-to-mend",
                    "note",
                    f"{gone.name} ({gone.kind}) is {gone.why}: nothing of it is mended.",
                    f"Take defect = {number} out of [[mends]], or leave it for another placement.",
                )
            )
    found += _together(job, mending)
    found += _keys_apart(mending)
    return tuple(found)


def _choice(mend: Mended) -> Iterator[Finding]:
    option = mend.option(mend.chosen)
    if mend.chosen == "reject":
        told = "as [[mends]] has it" if mend.stated else "nothing else mends it"
        others = [other for other in mend.options if other.fits and other.kind != "reject"]
        remedy = (
            f"Choose {', '.join(repr(other.kind) for other in others)} in [[mends]] instead, or read another slab."
            if others
            else "Read another slab, or have the client agree to a shorter piece or to a fill that shows."
        )
        yield Finding("finish/slab-rejected", "stop", f"{mend.name} ({mend.kind}) rejects the slab: {told}.", remedy)
    elif not option.fits and mend.stated:
        yield Finding(
            "finish/mend-does-not-fit",
            "stop",
            f"{mend.name} ({mend.kind}): '{mend.chosen}' does not fit here: {option.reason}.",
            f"Choose '{mend.recommended}' for it in [[mends]]."
            if mend.recommended != "reject"
            else "Nothing else fits either: read another slab.",
        )
    elif mend.chosen == "cut off":
        yield Finding(
            "finish/cut-off",
            "caution" if mend.stated else "note",
            f"{mend.name} ({mend.kind}) is to be cut off; the piece still lies over it.",
            f"{option.note} Then print again." if option.note else "State where the slab is cut.",
        )


def _keys(mend: Mended, asked: Mend | None, thickness: float, units: Units) -> Iterator[Finding]:
    if asked is None or mend.kind != "check":
        return
    figures = mending_figures()
    _, width, waist, depth = key_sizes(asked.key, thickness)
    most = figures.key["depth_most"] * thickness
    if depth >= thickness:
        yield Finding(
            "finish/key-too-deep",
            "stop",
            f"The keys across {mend.name} are {format_length(depth, units)} deep; the board is "
            f"{format_length(thickness, units)} thick.",
            f"State key.depth of at most {format_length(most, units)}: half the thickness.",
            figures.sources["key"],
        )
    elif depth > most + 1e-6:
        yield Finding(
            "finish/key-deep",
            "caution",
            f"The keys across {mend.name} are {format_length(depth, units)} deep, more than half the board: it is weak there.",
            f"State key.depth of at most {format_length(most, units)}.",
            figures.sources["key"],
        )
    if waist >= width:
        yield Finding(
            "finish/key-without-waist",
            "stop",
            f"The keys across {mend.name} are {format_length(waist, units)} wide at the waist and "
            f"{format_length(width, units)} at their ends: they hold nothing.",
            f"State key.waist of {format_length(figures.key['waist'] * width, units)}, half of the width.",
            figures.sources["key"],
        )


def _together(job: Job, mending: Mending) -> Iterator[Finding]:
    open_ones = [mend.name for mend in mending.mends if not mend.stated]
    if open_ones:
        yield Finding(
            "finish/mends-open",
            "note",
            f"How {_listed(open_ones)} {'is' if len(open_ones) == 1 else 'are'} mended is not stated: "
            "what is recommended is taken.",
            "Look at the mending schedule, and state [[mends]] defect and choose.",
        )
    unknown = [mend.name for mend in mending.mends if not mend.depth_known and mend.chosen not in ("leave", "cut off")]
    if unknown:
        yield Finding(
            "finish/depth-unknown",
            "caution",
            f"The depth of {_listed(unknown)} is not stated: {'it is' if len(unknown) == 1 else 'they are'} taken to go through.",
            "Probe with a wire and state depth in [[slab.defects]]: less epoxy, and maybe no tape.",
        )
    seen = [
        mend.name
        for mend in mending.mends
        if mend.side != "underside" and mend.chosen in ("key", "key and fill", "fill", "thin epoxy")
    ]
    if seen and job.stated.fill.client_agrees is None:
        yield Finding(
            "finish/mend-sign-off",
            "caution",
            f"What mends {_listed(seen)} will be seen on the show face, and the client has not signed for it yet.",
            "Show the client the mending schedule, and state [fill] client_agrees = true.",
        )
    soft = [mend.name for mend in mending.mends if mend.kind == "pith" and mend.chosen == "thin epoxy"]
    if soft:
        yield Finding(
            "finish/pith-checks",
            "caution",
            f"{_listed(soft)}: wood about the pith goes on checking after it is hardened.",
            "Let it open and fill the check, or saw the pith out and join the halves.",
            FROM_MEMORY,
        )
    proposed = [mend for mend in mending.mends if mend.keys is not None and mend.keys.places]
    if proposed and mending.mends[0].along is not None:
        yield Finding(
            "finish/keys-to-state",
            "note",
            f"Keys across {_listed([mend.name for mend in proposed])} are proposed, and not yet cut into the top.",
            'State each as [[top.features]] kind = "key", from the mending schedule: template and program then follow.',
            COMMON_PRACTICE,
        )


def _keys_apart(mending: Mending) -> Iterator[Finding]:
    """Keys of two checks that would lie over each other."""
    keyed = [mend for mend in mending.mends if mend.keys is not None]
    for number, one in enumerate(keyed):
        for other in keyed[number + 1 :]:
            outlines = [[place.outline for place in mend.keys.places] for mend in (one, other) if mend.keys is not None]
            if any(first.intersects(second) for first in outlines[0] for second in outlines[1]):
                yield Finding(
                    "finish/keys-meet",
                    "caution",
                    f"Keys across {one.name} and {other.name} would lie over each other.",
                    f"State key.count or key.spacing of one of them in [[mends]], or fill {other.name} without keys.",
                )


def _listed(names: list[str]) -> str:
    if len(names) > _MOST_NAMED:
        return f"{len(names)} defects"
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
