"""What is stated of a base and does nothing there, or makes a shape that is seldom meant."""

from __future__ import annotations

from slabwright.base.base_sizes import Sizes
from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.job.base_models import Base, BaseKind
from slabwright.quantities import Units, format_length

_UNUSED: dict[str, tuple[BaseKind, ...]] = {
    "corners": ("four legs", "trestles"),
    "top_across": ("U legs", "closed loops", "inverted U", "four legs"),
}


def stated_findings(base: Base, kind: BaseKind, sizes: Sizes, units: Units) -> list[Finding]:
    """Keys of `[base]` that the picture does not use, and trestles that are wider above than below.

    Args:
        base: as stated
        kind: the picture
        sizes: with defaults filled in
        units: of the job
    """
    unused = [key for key, kinds in _UNUSED.items() if key in base.model_fields_set and kind in kinds]
    if "rail_height" in base.model_fields_set and kind != "trestles" and sizes.stretcher is None:
        unused.append("rail_height")
    why = {
        "corners": "their pieces meet end on side, and none is mitred at a corner",
        "top_across": "only trestles lean",
        "rail_height": "there is neither a stretcher nor a trestle's rail",
    }
    found = [
        Finding(
            "base/key-not-used",
            "caution",
            f"base.{key} does nothing with {kind}: {why[key]}.",
            f"Leave it out{' or state base.stretcher' if key == 'rail_height' else ', or choose another [piece] base'}.",
            COMMON_PRACTICE,
        )
        for key in unused
    ]
    if kind == "trestles" and sizes.top_across > sizes.across:
        found.append(
            Finding(
                "base/trestle-wider-above",
                "caution",
                f"The trestles are {format_length(sizes.top_across, units)} wide at the top and"
                f" {format_length(sizes.across, units)} at the floor: they stand like a V.",
                "If across and top_across are changed over, state them the other way round.",
                COMMON_PRACTICE,
            )
        )
    return found
