"""Offcuts on the rack, called as the cut list calls its sections."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence

from slabwright.base.cut_list_results import OffcutOnHand
from slabwright.base.sections import near_sections, section
from slabwright.findings import Finding, SlabwrightError
from slabwright.job.shop_models import SteelOffcut
from slabwright.quantities import Units


def on_the_rack(
    offcuts: Iterable[SteelOffcut], wanted: Sequence[str], units: Units
) -> tuple[tuple[OffcutOnHand, ...], tuple[Finding, ...]]:
    """Offcuts with their sections' own names, so that case, spaces and signs of a name as typed do not matter.

    Args:
        offcuts: as the shop states them
        wanted: names of the sections that are cut
        units: of plain numbers in a name

    Returns:
        The offcuts whose section is known; and a caution for each other name, with the nearest one.
    """
    found: list[OffcutOnHand] = []
    unknown: dict[str, Finding] = {}
    for offcut in offcuts:
        try:
            name = section(offcut.section, units).name
        except SlabwrightError:
            unknown[offcut.section] = _unknown(offcut.section, wanted, units)
            continue
        found.append(OffcutOnHand(name, offcut.length, offcut.count))
    return tuple(found), tuple(unknown.values())


def _unknown(typed: str, wanted: Sequence[str], units: Units) -> Finding:
    shown = "".join(letter if letter.isprintable() else "?" for letter in typed)
    near = difflib.get_close_matches(typed.lower(), wanted, n=1, cutoff=0.0) or near_sections(typed, units, 1)
    said = f"the nearest that this base takes is {near[0]}" if near else "name it such as 60x60x4"
    return Finding(
        "base/offcut-unknown",
        "caution",
        f"No steel section is called {shown!r}: the offcuts of it on the rack are left out.",
        f"Mend shop:steel.offcuts section; {said}.",
        "",
    )
