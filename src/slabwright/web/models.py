"""What the pages' API takes and answers; one description serves page, script and test."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import Path
from pydantic import BaseModel, ConfigDict, Field

GREATEST = 2**31 - 1

JobId = Annotated[int, Path(ge=1, le=GREATEST, description="the job's number in the book")]
Number = Annotated[int, Field(ge=1, le=GREATEST)]
StepState = Literal["ready", "waiting", "done", "decide"]
Severity = Literal["stop", "caution", "note"]


class Model(BaseModel):
    """What is sent: unknown fields are refused, values do not change."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Trouble(Model):
    """Why a request was not done, in one line that says what would be right."""

    error: str = Field(description="what is wrong, and what would be right")


class Unusable(Trouble):
    """What was sent cannot be used."""

    key: str | None = Field(None, description="the key that it is about, such as `piece.length`, where there is one")


class Newer(Trouble):
    """A change that rests on a revision which is no longer the newest; it is kept as a draft."""

    newest: int = Field(description="number of the newest revision")
    draft: int | None = Field(None, description="number of the draft that keeps what was to be saved")


ERRORS: dict[int | str, dict[str, Any]] = {
    401: {"model": Trouble, "description": "the passcode was not given yet"},
    403: {"model": Trouble, "description": "another host or site, or the page's token is missing"},
    404: {"model": Trouble, "description": "there is no such thing"},
    409: {"model": Newer, "description": "another was quicker; nothing is lost"},
    413: {"model": Trouble, "description": "too large"},
    422: {"model": Unusable, "description": "what was sent cannot be used; says what would be right"},
    429: {"model": Trouble, "description": "too often; the header retry-after says when to try again"},
}
"""Every error that the API answers with."""


class Step(Model):
    """One step of the work, and where it stands."""

    name: str = Field(description="of its page")
    title: str = Field(description="as people read it")
    state: StepState = Field(description="ready, waiting, done, or decide: a decision is to be taken")
    words: str = Field(description="where it stands, in a few words")


class Head(Model):
    """The job that a page is about, and where its steps stand."""

    job: int = Field(description="its number in the book")
    title: str = Field(description="what the piece is called")
    client: str = Field(description="for whom")
    revision: int = Field(description="number of the newest revision")
    units: Literal["metric", "inch"] = Field(description="in which its figures are shown")
    refused: str = Field("", description="why nothing could be worked out, or nothing")
    steps: list[Step] = Field(description="in the order of the work")


class Figure(Model):
    """A figure that can say why."""

    path: str = Field(description="in plan.json")
    words: str = Field(description="what it is")
    value: float | int | str | bool | None = Field(description="in the unit that is named")
    unit: str = Field(description="mm, mm2, kg and so on; nothing for words")
    shown: str = Field(description="as people read it, in the job's units")


class Remedy(Model):
    """A change of the job that mends a problem."""

    words: str = Field(description="on the button")
    values: dict[str, Any] = Field(description="key of the job file, and what it shall say")


class Problem(Model):
    """What the maker should know before going on."""

    code: str
    severity: Severity
    voice: Literal["Stop", "Care", "Note"] = Field(description="as people read the severity")
    message: str
    remedy: str = Field(description="what would mend it")
    source: str = Field(description="whose rule it is")
    apply: Remedy | None = Field(None, description="what the tool can do about it at once")


class JobView(Model):
    """What every page of a job has."""

    head: Head
    problems: list[Problem] = Field(default_factory=list, description="the page's own, worst first")


class Moved(Model):
    """A figure that another value took the place of."""

    path: str = Field(description="in plan.json")
    words: str = Field(description="what it is")
    unit: str
    old: float | int | str | bool | None = Field(description="before; nothing where there was none")
    new: float | int | str | bool | None = Field(description="after; nothing where there is none any more")
    old_shown: str = Field(description="before, as people read it")
    new_shown: str = Field(description="after, as people read it")
    main: bool = Field(description="whether it is one of the few that a person looks at first")


class ProblemMoved(Model):
    """A problem that says something else than before."""

    old: Problem
    new: Problem


class Movement(Model):
    """What is different between two revisions' plans."""

    old: int = Field(description="number of the revision before")
    new: int = Field(description="number of the revision after")
    moved: list[Moved] = Field(
        description="every figure that moved, the main ones first, then in the order of the work"
    )
    problems_new: list[Problem] = Field(description="that were not there before")
    problems_gone: list[Problem] = Field(description="that are not there any more")
    problems_moved: list[ProblemMoved] = Field(description="that are still there, and say something else")
    refused: str = Field("", description="why one of them could not be worked out, or nothing")


class Edit(Model):
    """Keys of the job's or the shop's file, and what they shall say."""

    based_on: Number = Field(description="the revision that was looked at")
    values: dict[str, Any] = Field(
        min_length=1,
        max_length=200,
        description="by key, such as piece.length; as it would be typed, and nothing (null) takes the key away",
        examples=[{"piece.length": 2190}, {"slab.defects[0].depth": "through"}],
    )
    file: Literal["job", "shop"] = Field("job", description="which of the two files")
    why: str = Field("", max_length=300, description="in a few words")


class Edited(Movement):
    """What an edit came to: the new revision, and all that moved."""

    revision: int = Field(description="number of the new revision")


class Saved(Model):
    """A revision that was saved."""

    job: int
    revision: int
    who: str
    when: datetime
    why: str


class WhyLine(Model):
    """One line of the account of a figure."""

    label: str = Field(description="What, How, From, Sure, Source or Change")
    text: str


class Why(Model):
    """Where a figure comes from."""

    path: str
    shown: str = Field(description="the figure as people read it")
    lines: list[WhyLine]
