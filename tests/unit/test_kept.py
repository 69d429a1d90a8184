"""A plan that takes over stages of an earlier one says the same as one worked out anew."""

from __future__ import annotations

import dataclasses
import shutil
from pathlib import Path

import pytest

from slabwright import load_job, plan
from slabwright.kept import Kept, print_of, read_by
from slabwright.plan import Plan, as_json

EXAMPLES = Path(__file__).parents[2] / "examples"

EDITS = (
    ("job.toml", 'title = "', 'title = "Other '),
    ("job.toml", "[piece]", "[piece]\n# a remark moves every line"),
    ("job.toml", "[piece]", '[base]\ntube = "HSS 2x2x1/8"\n\n[piece]'),
    ("job.toml", "[piece]", "[hands]\npeople = 3\n\n[piece]"),
    ("job.toml", "[piece]", '[[finish.wood]]\ncoating = "hard-wax oil"\ncoats = 4\n\n[piece]'),
    ("job.toml", "[piece]", '[[delivery.steps]]\nkind = "door"\nwidth = 31\nheight = 80\n\n[piece]'),
    ("job.toml", "[piece]", "[top]\npaint = 0.01\n\n[piece]"),
    ("job.toml", "[piece]", "[[as_made]]"),
    ("shop.toml", "[machine]", "[saw]\nkerf = 0.1\n\n[machine]"),
    ("shop.toml", "[machine]", "[steel]\nlengths = [288]\n\n[machine]"),
    ("shop.toml", "[machine]", "[router]\nbit_diameter = 0.5\n\n[machine]"),
    ("shop.toml", "[machine]", "[machine]\n# nothing"),
)


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Plan, Kept]:
    folder = tmp_path_factory.mktemp("kept") / "job"
    shutil.copytree(EXAMPLES / "hall-desk", folder)
    bare(folder / "job.toml")
    bare(folder / "shop.toml")
    kept = Kept(40)
    return folder, plan(load_job(folder / "job.toml"), scheduled=False, kept=kept), kept


def bare(path: Path) -> None:
    """Take away the tables that the edits put in, so that none stands there twice."""
    kept, keep = [], True
    for line in path.read_text("utf-8").splitlines():
        if line.startswith("["):
            name = line.strip("[] ").split("]")[0].split(".")[0]
            keep = name not in ("base", "hands", "finish", "delivery", "saw", "steel", "router", "mends", "top")
        if keep:
            kept.append(line)
    path.write_text("\n".join(kept) + "\n", "utf-8")


@pytest.mark.parametrize(("file", "old", "new"), EDITS, ids=[f"{n} {edit[0]}" for n, edit in enumerate(EDITS)])
def test_taken_over_or_not_the_plan_is_the_same(
    before: tuple[Path, Plan, Kept], tmp_path: Path, file: str, old: str, new: str
) -> None:
    folder, _, kept = before
    here = tmp_path / "job"
    shutil.copytree(folder, here)
    text = (here / file).read_text("utf-8")
    assert old in text
    if new == "[[as_made]]":
        new, file = "[as_made]\nthickness = 1.25\n\n[piece]", "job.toml"
    (here / file).write_text(text.replace(old, new, 1), "utf-8")
    job = load_job(here / "job.toml")
    assert as_json(plan(job, scheduled=False, kept=kept)) == as_json(plan(job, scheduled=False))


def test_what_did_not_change_is_taken_over(before: tuple[Path, Plan, Kept]) -> None:
    folder, earlier, kept = before
    again = plan(load_job(folder / "job.toml"), scheduled=False, kept=kept)
    assert again.slab is not None and earlier.slab is not None
    assert again.slab.seat is earlier.slab.seat
    assert again.base is earlier.base


def test_every_table_is_read_by_some_stage_or_by_the_shop(before: tuple[Path, Plan, Kept]) -> None:
    """A table that nobody has thought of counts as the slab's, so that no stage is taken over wrongly."""
    folder, _, _ = before
    job = load_job(folder / "job.toml")
    shop_reads = {"quote", "received", "operations", "log", "brief"}
    for name in type(job.stated).model_fields:
        if name in shop_reads | {"job"}:
            continue
        changed = dataclasses.replace(job, stated=job.stated.model_copy(update={name: ("something", "else")}))
        if name == "piece":
            continue
        assert any(
            read_by(changed, stage) != read_by(job, stage) for stage in ("slab", "top", "base", "finish", "carry")
        ), name


def test_what_was_not_asked_for_longest_goes() -> None:
    kept = Kept(2)
    for number in range(2):
        kept.keep("slab", number, f"slab {number}")
    assert kept.known("slab", 0) == "slab 0"
    kept.keep("slab", 2, "slab 2")
    assert [kept.known("slab", number) for number in range(3)] == ["slab 0", None, "slab 2"]


def test_prints_tell_readings_apart() -> None:
    first = load_job(EXAMPLES / "hall-desk" / "job.toml").readings
    second = load_job(EXAMPLES / "window-bench" / "job.toml").readings
    assert first is not None and second is not None
    assert print_of(first) == print_of(load_job(EXAMPLES / "hall-desk" / "job.toml").readings)  # type: ignore[arg-type]
    assert print_of(first) != print_of(second)
