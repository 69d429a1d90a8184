"""What to know about the fill that was chosen: holes, the client's word, dams, specks."""

from __future__ import annotations

from slabwright.findings import Finding
from slabwright.job.models import Fill as FillAsked
from slabwright.quantities import Units, format_area, format_length
from slabwright.slab.patch import FrontPoint, Patch
from slabwright.slab.patches import Specks


def front_findings(
    front_points: tuple[FrontPoint, ...],
    chosen: int,
    found: tuple[Patch, ...],
    specks: Specks,
    fill: FillAsked,
    units: Units,
) -> tuple[Finding, ...]:
    """What to know about the fill that was chosen.

    Args:
        front_points: thickness against fill
        chosen: the point taken; 0: no fill
        found: its patches
        specks: what is too small to list
        fill: what the job states about filling
        units: to write lengths in
    """
    if chosen == 0:
        return ()
    point = front_points[chosen]
    findings = []
    holes = [patch for patch in found if patch.hole]
    if holes:
        # The thickest point without a hole is looked up, not guessed.
        whole = [index for index, each in enumerate(front_points) if each.deepest < each.thickness]
        best = max(whole, key=lambda index: front_points[index].thickness, default=0)
        remedy = (
            f"Point {best} of thickness against fill gives {format_length(front_points[best].thickness, units)} without a hole."
            if best
            else "Choose no fill, or let in wood from both faces."
        )
        findings.append(
            Finding(
                "slab/fill-hole",
                "caution",
                f"{_named(holes)} deeper than the board is thick ({format_length(point.thickness, units)}): "
                "it is a hole through the top, and epoxy runs out below.",
                remedy,
            )
        )
    if fill.client_agrees is not True:
        refused = fill.client_agrees is False
        places = len(found) or specks.count
        findings.append(
            Finding(
                "slab/fill-sign-off",
                "stop" if refused else "caution",
                f"{places} filled {'place' if places == 1 else 'places'} will be seen on the show face, and the client "
                + ("does not want them." if refused else "has not signed for them yet."),
                f"Without fill the board is {format_length(front_points[0].thickness, units)} thick ([fill] choose = 0). "
                "Or show the client the map of patches, and state [fill] client_agrees = true.",
            )
        )
    open_ended = [patch for patch in found if patch.meets_edge]
    if open_ended:
        findings.append(
            Finding(
                "slab/fill-dam",
                "note",
                f"{_named(open_ended)} open at the border of the top: the epoxy would run out there.",
                "Build a taped and sealed dam along the wood's edge before pouring.",
            )
        )
    if specks.count:
        findings.append(
            Finding(
                "slab/fill-specks",
                "note",
                f"{specks.count} small spots below the show plane are not listed: {format_area(specks.area, units)} in all.",
                "Fill them by hand from what is left in the pot.",
            )
        )
    return tuple(findings)


def _named(found: list[Patch]) -> str:
    names = [patch.name for patch in found]
    if len(names) > 6:
        return f"{len(names)} patches are"
    if len(names) == 1:
        return f"Patch {names[0]} is"
    return f"Patches {', '.join(names[:-1])} and {names[-1]} are"
