"""Team lifts, aids and the lifts of a table."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True)
class Way:
    """A way to lift with an aid.

    Attributes:
        aid: which
        people: that it wants
        bears: share of the weight that they still bear together
        words: how it is done
    """

    aid: str
    people: int
    bears: float
    words: str


@dataclass(frozen=True)
class LiftKind:
    """One lift of the work.

    Attributes:
        key: short name
        name: as the card is headed
        when: in the work
        state: what is lifted
        ends: what the two ends are called
        walking: whether it is carried farther than a step or two
        delivery: whether the people of the delivery lift
        stairs: whether it goes up a flight
        steps: what to do
        caution: what to mind
        ways: with aids
    """

    key: str
    name: str
    when: str
    state: str
    ends: tuple[str, str]
    walking: bool
    delivery: bool
    stairs: bool
    steps: tuple[str, ...]
    caution: str
    ways: tuple[Way, ...]


@dataclass(frozen=True)
class Lifting:
    """All of `lifting.toml`.

    Attributes:
        shares: of the sum of what each lifts alone, for one, two, ... people
        team_source: whose rule that is
        slope: of a flight of stairs [deg]
        kinds: the lifts, in the order of the work
    """

    shares: tuple[float, ...]
    team_source: str
    slope: float
    kinds: tuple[LiftKind, ...]


@cache
def lifting() -> Lifting:
    """The table.

    Raises:
        ValueError: a share lies outside 0 to 1, or a team of more people lifts less than one of fewer.
    """
    text = resources.files("slabwright.reference").joinpath("lifting.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)
    shares = tuple(float(each) for each in table["team"]["shares"])
    together = [people * share for people, share in enumerate(shares, start=1)]
    if together != sorted(together) or not all(0.0 < share <= 1.0 for share in shares):
        raise ValueError("lifting.toml: team.shares: more people must lift more, and none more than alone")
    kinds = []
    for row in table["lift"]:
        ways = tuple(Way(**way) for way in row["ways"])
        if not all(0.0 <= way.bears <= 1.0 and way.people >= 1 for way in ways):
            raise ValueError(
                f"lifting.toml: {row['key']}: a way wants one person at least and bears 0 to 1 of the weight"
            )
        first, last = row["ends"]
        kinds.append(
            LiftKind(
                key=row["key"],
                name=row["name"],
                when=row["when"],
                state=row["state"],
                ends=(first, last),
                walking=row["walking"],
                delivery=row.get("delivery", False),
                stairs=row.get("stairs", False),
                steps=tuple(row["steps"]),
                caution=row["caution"],
                ways=ways,
            )
        )
    return Lifting(shares, table["team"]["source"], float(table["stairs"]["value"]), tuple(kinds))
