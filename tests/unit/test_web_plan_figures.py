"""Figures that are looked up one by one are those of the whole list."""

from __future__ import annotations

from pathlib import Path

import pytest

from slabwright import load_job, plan
from slabwright.accounts import as_plain
from slabwright.plan import Plan
from slabwright.web.plan_figures import Figures, Plain
from slabwright.why import all_accounts

HALL_DESK = Path(__file__).parents[2] / "examples" / "hall-desk" / "job.toml"


@pytest.fixture(scope="module")
def made() -> Plan:
    return plan(load_job(HALL_DESK), scheduled=False)


def test_each_is_found_by_its_path(made: Plan) -> None:
    figures = Figures(made)
    plain = Plain(figures)
    known = list(all_accounts(made))
    assert len(known) > 1000
    for account in known:
        found = figures[account.path]
        assert (found.path, found.description) == (account.path, account.description)
        assert found.value is account.value or as_plain(found.value) == as_plain(account.value)
        assert plain[account.path] == as_plain(account.value)
    assert list(figures) == list(plain) == [account.path for account in known]
    assert len(figures) == len(plain) == len(known)


@pytest.mark.parametrize(
    "path",
    [
        "", "slab", "slab.seat", "slab.seat.", "slab.seat.no_such", "slab.patch_front", "slab.patch_front[0]",
        "slab.patch_front[9999].thickness", "slab.patch_front[00].thickness", "slab.patch_front.0.thickness",
        "job.stated", "findings[0].code", "slab.seat.thickness.more", "slab.hidden.note", "[0]", "waiting[0].stage",
    ],
)  # fmt: skip
def test_what_is_no_figure_is_not_found(made: Plan, path: str) -> None:
    figures = Figures(made)
    assert path not in {account.path for account in all_accounts(made)}
    assert path not in figures
    assert figures.get(path) is None
