"""What the layout has to say: each clash with its distance, its rule, whose rule it is, and what mends it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from slabwright.findings import Finding, Severity
from slabwright.job.top_models import Channel, Pocket
from slabwright.quantities import Units, format_length
from slabwright.top import clearance_rules as rule
from slabwright.top.clearances import cable_bend
from slabwright.top.feature_shapes import channel_path
from slabwright.top.layout_results import Clearance, Layout
from slabwright.top.moving import Trial
from slabwright.top.remedies import crossing_words, remedy, tight_corners

_EPS = 1e-6
_HALF = 0.5
"""Below this share of the wood that is asked for a clash is a stop; above it a caution. Common practice."""


def layout_findings(layout: Layout, found: Sequence[Clearance], units: Units) -> tuple[Finding, ...]:
    """Every clash, with a remedy that was laid out and checked.

    The bolts' ends are told with the fastenings, which know the bolts.

    Args:
        layout: of the features
        found: its clearances, by `clearances`
        units: of the messages
    """
    trial = Trial(layout, found, units)
    told = [*_paths(layout, units)]
    told += [_finding(trial, clash) for clash in found if not clash.holds and clash.rule != rule.BOLT_END]
    return tuple(told)


def _paths(layout: Layout, units: Units) -> Iterator[Finding]:
    for channel in layout.top.features:
        if not isinstance(channel, Channel):
            continue
        crossed = crossing_words(channel, units)
        if crossed:
            yield Finding(
                "top/channel-crosses-itself", "stop", f"{crossed[0]}.", crossed[1], "a channel is cut in one run"
            )
        tight = tight_corners(channel, units)
        if tight:
            yield Finding("top/corner-too-tight", "caution", f"{tight[0]}.", tight[1], "plain geometry")


def _severity(clash: Clearance) -> Severity:
    return "stop" if clash.distance <= _EPS or clash.distance < _HALF * clash.least else "caution"


def _finding(trial: Trial, clash: Clearance) -> Finding:
    tell = {
        rule.FLOOR: _floor,
        rule.EDGE: _edge,
        rule.BETWEEN: _between,
        rule.WORKED_EDGE: _worked_edge,
        rule.NUT: _nut,
        rule.KEPT_CLEAR: _kept_clear,
        rule.PLATE: _plate,
        rule.CABLE: _cable,
        rule.BEND: _bend,
    }
    code, severity, message = tell[clash.rule](trial, clash)
    return Finding(code, severity, message, remedy(trial, clash), clash.source)


_Told = tuple[str, Severity, str]


def _length(trial: Trial, length: float) -> str:
    return format_length(length, trial.units)


def _floor(trial: Trial, clash: Clearance) -> _Told:
    layout = trial.layout
    stated = trial.stated[clash.first]
    feature = layout.named(clash.first)
    asked = rule.floor_rule(stated, layout.top.clearances, layout.thickness)
    assert asked is not None
    if clash.distance <= _EPS:
        return (
            "top/deeper-than-wood",
            "stop",
            f"'{clash.first}' goes {_length(trial, layout.thickness - clash.distance)} deep, and the top is "
            f"{_length(trial, layout.thickness)}: nothing stays under it.",
        )
    face = "underside" if feature.face == "show" and feature.kind != "outlet" else "show face"
    severity: Severity = "stop" if clash.distance < asked.hard - _EPS else "caution"
    whole = f"; {_length(trial, clash.least)} is asked for {asked.words}"
    if isinstance(stated, Pocket) and severity == "stop":
        whole = f"; {_length(trial, clash.least)} is asked for"
    return (
        asked.code,
        severity,
        f"'{clash.first}' leaves {_length(trial, clash.distance)} of wood under the {face}{whole}.",
    )


def _edge(trial: Trial, clash: Clearance) -> _Told:
    if clash.distance < -_EPS:
        return (
            "top/outside",
            "stop",
            f"'{clash.first}' reaches {_length(trial, -clash.distance)} or more out of the top.",
        )
    return (
        "top/near-edge",
        _severity(clash),
        f"'{clash.first}' leaves {_length(trial, clash.distance)} of wood to the edge of the top; "
        f"{_length(trial, clash.least)} is asked for.",
    )


def _between(trial: Trial, clash: Clearance) -> _Told:
    asked = f"{_length(trial, clash.least)} of wood is asked for between them"
    if clash.distance <= _EPS:
        return "top/too-close", "stop", f"'{clash.first}' and '{clash.second}' are cut into each other; {asked}."
    return (
        "top/too-close",
        _severity(clash),
        f"'{clash.first}' and '{clash.second}' leave {_length(trial, clash.distance)} of wood between them; "
        f"{_length(trial, clash.least)} is asked for.",
    )


def _worked_edge(trial: Trial, clash: Clearance) -> _Told:
    code = "top/worked-edge"
    if clash.second is None:
        deep = _length(trial, trial.layout.thickness - clash.distance)
        return "top/deeper-than-wood", "stop", f"'{clash.first}' is {deep} high: the top is no thicker."
    both = [trial.layout.named(name) for name in (clash.first, clash.second)]
    if all(one.length is None for one in both):
        if both[0].face == both[1].face:
            return code, "stop", f"'{clash.first}' and '{clash.second}' work the same edges of the same face."
        over = _length(trial, -clash.distance)
        return code, "stop", f"'{clash.first}' and '{clash.second}' meet: together they are {over} higher than the top."
    if clash.distance <= _EPS:
        return code, "stop", f"'{clash.second}' cuts into '{clash.first}'."
    return (
        code,
        _severity(clash),
        f"'{clash.first}' leaves {_length(trial, clash.distance)} of wood to the worked edge '{clash.second}'; "
        f"{_length(trial, clash.least)} is asked for.",
    )


def _nut(trial: Trial, clash: Clearance) -> _Told:
    return (
        "top/nut-room",
        "stop",
        f"The nut of '{clash.first}' has no room on the underside: '{clash.second}' reaches "
        f"{_length(trial, -clash.distance)} into it.",
    )


def _kept_clear(trial: Trial, clash: Clearance) -> _Told:
    place = next(one for one in trial.layout.top.keep_clear if one.name == clash.second)
    whose = {
        "knees": ", which is kept clear for knees",
        "base": ", where the base is",
        "other": ", which is kept clear",
    }
    return (
        "top/keep-clear",
        "stop",
        f"'{clash.first}' reaches into '{clash.second}'{whose[place.what]}.",
    )


def _plate(trial: Trial, clash: Clearance) -> _Told:
    return (
        "top/outside-plate",
        "stop",
        f"The hole of '{clash.first}' reaches {_length(trial, -clash.distance)} out from under its plate '{clash.second}'.",
    )


def _cable(trial: Trial, clash: Clearance) -> _Told:
    channel = trial.stated[clash.first]
    assert isinstance(channel, Channel) and channel.cable_diameter is not None
    return (
        "top/cable-too-thick",
        "stop",
        f"A cable of {_length(trial, channel.cable_diameter)} does not go into '{clash.first}', "
        f"{_length(trial, channel.width)} wide and {_length(trial, channel.depth)} deep.",
    )


def _bend(trial: Trial, clash: Clearance) -> _Told:
    channel = trial.stated[clash.first]
    assert isinstance(channel, Channel)
    bend = cable_bend(channel)
    at = bend[1] if bend else 0
    corners = len(channel_path(channel))
    return (
        "top/cable-bend",
        _severity(clash) if channel.cable_diameter else "caution",
        f"At corner {at + 1} of {corners} the cable in '{clash.first}' must bend to {_length(trial, max(0.0, clash.distance))}; "
        f"its maker allows {_length(trial, clash.least)}"
        + ("." if channel.cable_diameter else " (its diameter is not stated: one that fills the channel is taken)."),
    )
