"""Hours: the shop's own rates and its history, and a job's log and changes to its operations."""

from __future__ import annotations

import datetime
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from slabwright.job.coating_fields import Moment
from slabwright.job.fields import Number, Stated, Whole

Event = Literal["started", "stopped", "done", "delayed", "failed", "approved"]
OperationName = Annotated[str, Field(min_length=1, max_length=100)]
Minutes = Annotated[Number, Field(gt=0, le=1_000_000)]
Wait = Annotated[Number, Field(ge=0, le=1_000_000)]


class Rate(Stated):
    """`[[hours.rates]]`: the shop's own rate of one kind of operation, in place of the usual one."""

    kind: OperationName = Field(description="as the list of operations calls it; a new kind may be named too")
    minutes: Annotated[Number, Field(ge=0, le=100_000)] = Field(
        description="for each metre, joint, square metre or piece"
    )
    set_up: Wait | None = Field(None, description="minutes before and after, however much it is; left out: as usual")
    unit: str = Field("", max_length=20, description="of a new kind: what its minutes are for, such as m or joint")

    @model_validator(mode="after")
    def _takes_time(self) -> Self:
        if self.minutes == 0.0 and not self.set_up:
            raise ValueError("a rate of no minutes wants a set_up above 0: nothing takes no time")
        return self


class Hours(Stated):
    """`[hours]`: how the shop's hours are reckoned."""

    rates: list[Rate] = Field(default_factory=list, max_length=200, description="own rates")
    half_life: Annotated[Number, Field(ge=1, le=1000)] = Field(
        12.0, description="jobs after which one that was logged counts half (default: from memory)"
    )
    places: list[OperationName] = Field(
        default_factory=list,
        max_length=50,
        description="places of the shop besides the usual ones that operations need, each once at a time, such as kiln",
    )

    @model_validator(mode="after")
    def _once(self) -> Self:
        kinds = [rate.kind for rate in self.rates]
        twice = next((kind for kind in kinds if kinds.count(kind) > 1), None)
        if twice is not None:
            raise ValueError(f"[[hours.rates]] states {twice!r} twice; one of them must go")
        return self


class History(Stated):
    """`[history]`: hours that were logged in earlier jobs."""

    file: str | None = Field(None, description="CSV beside the shop file: date, job, kind, amount, minutes")


class LogEntry(Stated):
    """`[[log]]`: what happened, as it happens."""

    operation: OperationName = Field(description="as the list of operations calls it")
    event: Event = Field(description="what happened")
    at: Moment = Field(description="day and hour of the shop's own clock")
    minutes: Minutes | None = Field(
        None, description="hands on it, of one crew; left out: from start to stop, the same day"
    )
    until: Moment | None = Field(None, description="of a delay: when it can begin")
    note: str = Field("", max_length=500, description="why")

    @model_validator(mode="after")
    def _ends_later(self) -> Self:
        if self.event == "delayed":
            if self.until is None and self.minutes is None:
                raise ValueError("a delay says until when, or by how many minutes")
            if self.until is not None and self.until <= self.at:
                raise ValueError("until must be later than at")
        elif self.until is not None:
            raise ValueError('until goes with event = "delayed" only')
        return self

    @property
    def free_from(self) -> datetime.datetime | None:
        """When a delayed operation can begin; None of other events."""
        if self.event != "delayed":
            return None
        return self.until or self.at + datetime.timedelta(minutes=self.minutes or 0.0)


class OperationChange(Stated):
    """`[[operations]]`: an operation of the maker's own, or a change to one that the plan has."""

    name: OperationName = Field(description="of a new one, or as the list of operations calls it")
    drop: bool = Field(False, description="true: it is not done; what comes after it follows what comes before")
    split: Whole = Field(1, ge=1, le=20, description="parts that it is done in, one after the other")
    pin: Moment | None = Field(None, description="when it starts")
    after: list[OperationName] = Field(
        default_factory=list, max_length=50, description="what it comes after, besides what it does already"
    )
    before: list[OperationName] = Field(default_factory=list, max_length=50, description="what it comes before")
    kind: OperationName | None = Field(None, description="of a new one: a kind of operation")
    amount: Annotated[Number, Field(gt=0, le=1e9)] | None = Field(
        None, description="of what its kind is driven by: metres, joints, square metres, pieces"
    )
    minutes: Minutes | None = Field(None, description="hands on it; in place of what its kind and amount say")
    wait: Wait | None = Field(None, description="minutes afterwards that it waits by itself")
    needs: list[OperationName] | None = Field(
        None, max_length=10, description="who and what it takes, such as maker, helper, welding table"
    )

    @model_validator(mode="after")
    def _goes_together(self) -> Self:
        if self.drop and (self.split > 1 or self.pin or self.after or self.before or self.amount or self.minutes):
            raise ValueError("what is dropped is neither split, pinned, nor linked: leave the other keys out")
        return self
