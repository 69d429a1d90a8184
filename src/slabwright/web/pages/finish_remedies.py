"""Problems of the finish that the tool can mend at once: a start, a scuffed coat, the shop's air, room for the paint."""

from __future__ import annotations

import datetime
import re
from typing import Any

from slabwright.findings import Finding
from slabwright.finish.coating_findings import degrees
from slabwright.finish.coating_results import SystemPlan
from slabwright.job.finish_models import Finish
from slabwright.plan import Plan
from slabwright.quantities import INCH, format_length
from slabwright.web.models import Remedy
from slabwright.web.pages.finish_coats import calendar_of, clock_of, rows_of
from slabwright.web.planning import Planned
from slabwright.web.remedies import remedies_for

_COAT = re.compile(r"Coat ([0-9]+), (.+): the next one")


def _plan(planned: Planned) -> Plan | None:
    return planned.result if planned.result is not None and planned.result.finish is not None else None


def _sheets(plan: Plan) -> list[Any]:
    assert plan.finish is not None
    return [coat.sheet for system in plan.finish.systems for coat in system.coats]


def _named(plan: Plan, message: str) -> SystemPlan | None:
    found = _COAT.match(message)
    if found is None or plan.finish is None:
        return None
    number, coating = int(found[1]), found[2]
    return next(
        (
            system
            for system in plan.finish.systems
            if any(one.number == number and one.coating == coating for one in system.coats)
        ),
        None,
    )


@remedies_for("finish/window-missed")
def _missed(finding: Finding, planned: Planned) -> Remedy | None:
    """State that the coat is scuffed: what the plan does then anyway."""
    plan = _plan(planned)
    system = _named(plan, finding.message) if plan is not None else None
    found = _COAT.match(finding.message)
    if plan is None or system is None or found is None:
        return None
    coat = system.coats[int(found[1]) - 1]
    if coat.next is None:
        return None
    then = {"after scuffing": "scuff", "after sanding": "sand"}.get(coat.next.way)
    rows = rows_of(plan.job, system.on)
    number = next((k for k, row in enumerate(rows) if row.coating.lower() == coat.coating.lower()), None)
    if then is None or number is None:
        return None
    words = "Scuff it, then coat" if then == "scuff" else "Sand it flat, then coat"
    finish = plan.job.stated.finish or Finish()
    if system.on == "wood" and not finish.wood:
        return Remedy(words=words, values={"finish.wood": [{"coating": coat.coating, "then": then}]})
    return Remedy(words=words, values={f"finish.{system.on}[{number}].then": then})


@remedies_for("finish/not-open")
def _not_open(finding: Finding, planned: Planned) -> Remedy | None:
    """Begin when the shop is open."""
    plan = _plan(planned)
    found = re.search(r'start = "([0-9T:-]+)"', finding.remedy)
    if plan is None or plan.finish is None or found is None:
        return None
    finish = plan.job.stated.finish or Finish()
    wood = next((one for one in plan.finish.systems if one.on == "wood"), None)
    is_wood = wood is not None and wood.coats[0].starts == found[1]
    key = "finish.start" if is_wood or finish.steel_start is None else "finish.steel_start"
    return Remedy(words=f"Begin {found[1].replace('T', ', ')}", values={key: found[1]})


@remedies_for("finish/no-start")
def _no_start(finding: Finding, planned: Planned) -> Remedy | None:
    """Begin when the shop opens next."""
    plan = _plan(planned)
    if plan is None or plan.finish is None or not plan.finish.systems:
        return None
    coat = plan.finish.systems[0].coats[0]
    tomorrow = datetime.datetime.now().replace(hour=0, minute=0, second=0, microsecond=0) + datetime.timedelta(days=1)
    start = calendar_of(plan.job).next_start(tomorrow, coat.minutes)
    from slabwright.finish.windows import clock_words, day_words

    words = f"Begin {day_words(start, datetime.datetime.now())} at {clock_words(start, clock_of(plan.job))}"
    return Remedy(words=words, values={"finish.start": start.isoformat(timespec="minutes")})


def _climate(key: str, limit: str, pick: Any, verb: str) -> None:
    def applies(finding: Finding, planned: Planned) -> Remedy | None:
        plan = _plan(planned)
        if plan is None:
            return None
        limits = [value for sheet in _sheets(plan) if (value := getattr(sheet.more, limit)) is not None]
        if not limits:
            return None
        at = pick(limits)
        steel = finding.message.startswith("The steel")
        if key == "temperature":
            told = degrees(at, plan.job.stated.job.units)
            where = "finish.steel_temperature" if steel else "finish.temperature"
            words = f"{'The steel' if steel else 'The shop'} is {verb} to {told} now"
        else:
            told, where = f"{at:g} %", "finish.humidity"
            words = f"The air is {verb} to {told} now"
        return Remedy(words=words, values={where: at})

    remedies_for({"coldest": "finish/too-cold", "warmest": "finish/too-warm", "dampest": "finish/too-damp",
                  "driest": "finish/too-dry"}[limit])(applies)  # fmt: skip


_climate("temperature", "coldest", max, "warmed")
_climate("temperature", "warmest", min, "cooled")
_climate("humidity", "dampest", min, "dried")
_climate("humidity", "driest", max, "damped")


@remedies_for("finish/film-over-allowance")
def _film(finding: Finding, planned: Planned) -> Remedy | None:
    """Lay pockets and slots out for the paint that goes on."""
    plan = _plan(planned)
    steel = next((one for one in plan.finish.systems if one.on == "steel"), None) if plan and plan.finish else None
    if plan is None or steel is None or steel.film is None:
        return None
    units = plan.job.stated.job.units
    film = steel.film / 1000.0
    value: float | str = round(film, 2) + (0.01 if round(film, 2) < film else 0.0)
    if units == "inch":
        value = f"{film / INCH + 0.0001:.4f} in"
    return Remedy(
        words=f"Leave {format_length(film, units)} for the paint in pockets and slots", values={"top.paint": value}
    )


@remedies_for("finish/mend-does-not-fit")
def _fits(finding: Finding, planned: Planned) -> Remedy | None:
    """Take what is recommended."""
    plan = _plan(planned)
    if plan is None or plan.finish is None:
        return None
    name = finding.message.partition(" ")[0]
    mend = next((one for one in plan.finish.mending.mends if one.name == name), None)
    number = next((k for k, one in enumerate(plan.job.stated.mends) if mend and one.defect == mend.number), None)
    if mend is None or number is None or mend.recommended == "reject":
        return None
    return Remedy(words=f"{mend.name}: {mend.recommended}", values={f"mends[{number}].choose": mend.recommended})


@remedies_for("finish/mends-open")
def _open(finding: Finding, planned: Planned) -> Remedy | None:
    """Settle all of them as recommended."""
    plan = _plan(planned)
    if plan is None or plan.finish is None:
        return None
    stated = {one.defect: k for k, one in enumerate(plan.job.stated.mends)}
    count = len(plan.job.stated.mends)
    values: dict[str, Any] = {}
    for mend in plan.finish.mending.mends:
        if mend.stated or mend.chosen == "reject":
            continue
        if mend.number in stated:
            values[f"mends[{stated[mend.number]}].choose"] = mend.chosen
        else:
            values[f"mends[{count}]"] = {"defect": mend.number, "choose": mend.chosen}
            count += 1
    return Remedy(words="Settle them as recommended", values=values) if values else None


@remedies_for("finish/mend-sign-off")
def _signed(finding: Finding, planned: Planned) -> Remedy | None:
    """The client has agreed."""
    return Remedy(words="The client has signed for it", values={"fill.client_agrees": True})
