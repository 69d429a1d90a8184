"""Where a figure comes from, told from the plan and the job: the text of `slabwright why`."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator
from typing import Any

from slabwright.accounts import Account, accounts, split_path
from slabwright.findings import SlabwrightError
from slabwright.job.loaded import Job
from slabwright.plan import Plan
from slabwright.quantities import (
    INCH,
    POUND,
    POUND_FORCE,
    Rounds,
    Units,
    format_angle,
    format_area,
    format_length,
    format_mass,
    format_stiffness,
    format_stress,
    format_volume,
    kept_true,
)
from slabwright.reference.money import format_money

_LENGTHS = ("Length", "LengthAboveZero", "LengthFromZero", "LengthOrMax", "LengthOrThrough")
"""Names under which the models publish their lengths."""


def shown(value: Any, unit: str, units: Units, currency: str, rounds: Rounds = "") -> str:
    """A figure as people read it.

    Args:
        value: the figure, or None
        unit: see `Description.unit`
        units: the job's
        currency: the job's
        rounds: `down` what is promised at least, `up` what is promised at most
    """
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) or not unit:
        return str(value)
    number = kept_true(float(value), _step(float(value), unit, units), rounds) if rounds else float(value)
    forms = {
        "mm": lambda: format_length(number, units, 2),
        "mm2": lambda: format_area(number, units),
        "mm3": lambda: format_volume(number, units),
        "mm3/min": lambda: f"{format_volume(number, units)} a minute",
        "mm3 modulus": lambda: _power(number, 3, units),
        "mm4": lambda: _power(number, 4, units),
        "N": lambda: f"{number / POUND_FORCE:.4g} lbf" if units == "inch" else _plainly(number, unit),
        "N/mm": lambda: format_stiffness(number, units),
        "MPa": lambda: format_stress(number, units),
        "deg": lambda: format_angle(number, 2 if abs(number) >= 0.1 else 3),
        "kg": lambda: format_mass(number, units),
        "%": lambda: f"{number:.1f} %",
        "money": lambda: format_money(number, currency),
        "day": lambda: f"{number:.1f} days",
        "hour": lambda: f"{number:.1f} hours",
        "h": lambda: f"{number:.1f} h",
        "min": lambda: _minutes(number),
        "um": lambda: f"{number:.0f} µm" if units == "metric" else f"{number / INCH:.1f} mil",
        "degC": lambda: f"{number:.1f} °C" if units == "metric" else f"{number * 1.8 + 32.0:.0f} °F",
        "1": lambda: f"{number:g}" if number == 0.0 or abs(number) >= 1e-4 else "less than 0.0001",
    }
    if unit in forms:
        return forms[unit]()
    return _plainly(number, unit)


def _minutes(number: float) -> str:
    if abs(number) < 120.0:
        return f"{number:.1f} min" if abs(number) < 9.95 else f"{number:.0f} min"
    hours, minutes = divmod(round(number), 60)
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def _told(account: Account, units: Units, currency: str) -> str:
    return shown(account.value, account.description.unit, units, currency, account.description.rounds)


def _step(value: float, unit: str, units: Units) -> float:
    """How finely `shown` tells a figure, in the figure's own unit."""
    size = abs(value)
    if unit == "mm":
        return 0.01 if units == "metric" else 0.0001 * INCH
    if unit == "kg" and units == "metric":
        return 0.1 if size >= 1.0 else 0.001
    if unit == "kg":
        return 0.1 * POUND if size >= POUND else 0.1 * POUND / 16.0
    if unit == "N":
        one = POUND_FORCE if units == "inch" else 1.0
        digits = math.floor(math.log10(size / one)) if size > 0.0 else 0
        return one * (1.0 if units == "metric" and digits >= 3 else 10.0 ** (digits - 3))
    if unit in ("hour", "%"):
        return 0.1
    raise ValueError(f"a promised figure in {unit!r} is not known how to be told")


def _plainly(number: float, unit: str) -> str:
    return f"{number:.4g} {unit}" if abs(number) < 1000.0 else f"{number:,.0f} {unit}".replace(",", "\u00a0")


def _power(value: float, power: int, units: Units) -> str:
    """What a section has of modulus or second moment, in cm or in inches to that power."""
    unit, size = ("cm", 10.0) if units == "metric" else ("in", INCH)
    return f"{value / size**power:.4g} {unit}{'³' if power == 3 else '⁴'}"


PARTS = ("board", "slab", "top", "base", "finish", "carry", "machine", "shop")
"""Parts of `plan.json` whose figures have accounts."""


def all_accounts(plan: Plan) -> Iterator[Account]:
    """The account of every figure of `plan.json` that was worked out."""
    for part in PARTS:
        value = getattr(plan, part)
        if value is not None:
            yield from accounts(value, part)


def _same(path: str) -> str:
    return ".".join(split_path(path))


def account_of(plan: Plan, path: str) -> list[Account]:
    """The account of a figure, or of all figures below a path.

    Raises:
        SlabwrightError: there is no such figure; the nearest names are told.
    """
    wanted = _same(path)
    known = list(all_accounts(plan))
    exact = [account for account in known if _same(account.path) == wanted]
    if exact:
        return exact
    below = [account for account in known if _same(account.path).startswith(wanted + ".")]
    if below:
        return below
    near = difflib.get_close_matches(wanted, [_same(account.path) for account in known], n=3, cutoff=0.4)
    hint = f"; near ones: {', '.join(near)}" if near else "; the figures stand in plan.json"
    raise SlabwrightError(f"there is no figure {path!r} in this plan{hint}")


def _stated(job: Job, key: str) -> str | None:
    """What a key of the job or shop file says and where it was stated, or that it is a default; None where it says nothing."""
    scope, _, path = key.partition(":")
    value: Any = job.shop if scope == "shop" else job.stated
    for part in split_path(path):
        value = getattr(value, part, None)
        if value is None:
            break
    where = {name: place for name, place in job.where.items() if name == (f"shop:{path}" if scope == "shop" else path)}
    if not where:
        prefix = f"shop:{path}" if scope == "shop" else path
        where = {name: place for name, place in job.where.items() if name.startswith((prefix + ".", prefix + "["))}
    units = job.stated.job.units
    if value is None or value == []:
        return None
    lengths = _is_length(job, scope, path)

    def told_of(item: Any) -> str:
        return format_length(item, units) if lengths and isinstance(item, float) else str(item)

    if hasattr(value, "model_dump"):
        told = "as stated"
    elif isinstance(value, list | tuple):
        plain = [told_of(item) for item in value if not hasattr(item, "model_dump")]
        told = ", ".join(plain) if plain else f"{len(value)} stated"
    else:
        told = told_of(value)
    if where:
        place = next(iter(where.values()))
        return f"{path} = {told}   ({place.file}, line {place.line})"
    return f"{path} = {told}   (default of the {'shop' if scope == 'shop' else 'job'} file)"


def _is_length(job: Job, scope: str, path: str) -> bool:
    """Whether a stated key is a length: its model says so."""
    model: Any = type(job.shop if scope == "shop" else job.stated)
    parts = split_path(path)
    for part in parts[:-1]:
        annotation = model.model_fields[part].annotation
        candidates = [annotation, *getattr(annotation, "__args__", ())]
        model = next((item for item in candidates if hasattr(item, "model_fields")), None)
        if model is None:
            return False
    field = model.model_fields.get(parts[-1])
    if field is None:
        return False
    told = repr(field) + repr(field.annotation)  # what may be left out tells its kind in its annotation alone
    return any(f"'{kind}'" in told for kind in _LENGTHS)


def explain(plan: Plan, path: str) -> str:
    """The account of a figure as text: what it is, how it came, what it rests on, how sure, whose rule, what would change it.

    Args:
        plan: the job's plan
        path: of a figure in `plan.json`, such as `slab.seat.thickness` or `slab.passes[0].depth`; or of a group of figures

    Raises:
        SlabwrightError: there is no such figure.
    """
    units, currency = plan.job.stated.job.units, plan.job.stated.job.currency
    found = account_of(plan, path)
    if len(found) > 1:
        width = max(len(account.path) for account in found)
        rows = [(account, _told(account, units, currency)) for account in found]
        return "\n".join(f"{row.path:<{width}}  {value}   {row.description.meaning}" for row, value in rows)
    [account] = found
    about = account.description
    lines = [f"{account.path} = {_told(account, units, currency)}", f"  What   {about.meaning}"]
    if about.how:
        lines.append(f"  How    {about.how}")
    values = {_same(known.path): known for known in all_accounts(plan)}
    rests = []
    for name in about.rests_on:
        if name.partition(":")[0] in ("job", "shop"):
            stated = _stated(plan.job, name)
            rests += [stated] if stated else []
        elif _same(name) in values:
            figure = values[_same(name)]
            rests.append(f"{name} = {_told(figure, units, currency)}")
        else:
            rests.append(name)
    lines += [f"  {'From' if index == 0 else '':<4}   {text}" for index, text in enumerate(rests)]
    sure = values.get(_same(about.sure))
    if sure is not None:
        lines.append(f"  Sure   {sure.description.meaning}: {_told(sure, units, currency)}")
    elif about.sure:
        lines.append(f"  Sure   {about.sure}")
    if about.source:
        lines.append(f"  Source {about.source}")
    if about.change:
        lines.append(f"  Change {about.change}")
    return "\n".join(lines)
