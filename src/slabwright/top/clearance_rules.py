"""The rules of least wood: what is asked for, how it is told, and whose rule it is."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.findings import COMMON_PRACTICE
from slabwright.job.top_models import Bar, Channel, Clearances, Insert, KeepClear, Key, Outlet, Pocket

BETWEEN = "between two features"
EDGE = "edge of the top"
FLOOR = "wood under the floor"
WORKED_EDGE = "worked edge"
NUT = "room for the nut"
KEPT_CLEAR = "kept clear"
BOLT_END = "bolt's end"
BEND = "bend of the cable"
CABLE = "size of the cable"
PLATE = "hole under its plate"


@dataclass(frozen=True)
class FloorRule:
    """Least wood under a floor.

    Attributes:
        code: of the problem where it is not kept
        least: wood [mm]
        hard: least wood below which it is no matter of taste [mm]
        words: whose rule, in words
    """

    code: str
    least: float
    hard: float
    words: str


def floor_rule(feature: object, rules: Clearances, thickness: float) -> FloorRule | None:
    """The least wood under a feature's floor; None where it goes through, or for worked edges.

    A pocket leaves the greater of a share of the thickness and a length; the others leave a length.

    Args:
        feature: as stated
        rules: as stated, or their defaults
        thickness: of the top [mm]
    """
    if isinstance(feature, Pocket):
        share = rules.pocket_floor_share * thickness
        words = "two thirds of the thickness" if abs(rules.pocket_floor_share - 2 / 3) < 1e-3 else "its share"
        told = f"under a pocket {words}" if share >= rules.pocket_floor else "under a pocket"
        return FloorRule("top/pocket-floor", max(share, rules.pocket_floor), rules.pocket_floor, told)
    if isinstance(feature, Channel):
        return FloorRule("top/channel-floor", rules.channel, rules.channel, "under a channel")
    if isinstance(feature, Key):
        return FloorRule("top/key-floor", rules.channel, rules.channel, "under a key")
    if isinstance(feature, Bar):
        return FloorRule("top/bar-floor", rules.channel, rules.channel, "under let-in steel")
    if isinstance(feature, Insert):
        return FloorRule("top/insert-cover", rules.insert, rules.insert, "under an insert's hole")
    if isinstance(feature, Outlet):
        return FloorRule("top/recess-floor", rules.recess, rules.recess, "over an outlet's recess")
    return None


def source(rules: Clearances, key: str) -> str:
    """Whose rule a clearance is: the job's, where it states it."""
    return "as the job states it" if key in rules.model_fields_set else COMMON_PRACTICE


def kept_out(place: KeepClear, kind: str, underside: bool) -> bool:
    """Whether a feature may not be in a place that is kept clear.

    Args:
        place: knees, base or other
        kind: of the feature
        underside: whether the feature opens on the underside
    """
    if place.what == "knees":
        return kind == "outlet"
    if place.what == "base":
        return kind in ("outlet", "through hole")
    return underside
