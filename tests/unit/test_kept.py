"""A plan that takes over stages of an earlier one says the same as one worked out anew."""

from __future__ import annotations

import dataclasses
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from slabwright import load_job, plan
from slabwright.job.models import JobFile, JobHead, Piece, ShopFile
from slabwright.kept import Kept, print_of, read_by
from slabwright.plan import Plan, as_json

EXAMPLES = Path(__file__).parents[2] / "examples"

EDITS = (
    ("job.toml", 'title = "', 'title = "Other '),
    ("job.toml", 'date = "2026-', 'date = "2027-'),
    ("job.toml", "length = \"5' 6", "length = \"5' 5"),
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
    ("shop.toml", "hour = 60", "hour = 60\ninsert_per_piece = 99\nwood_per_cubic_metre = 3000"),
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


def test_programs_carry_the_new_title(tmp_path: Path) -> None:
    folder, kept = tmp_path / "job", Kept()
    shutil.copytree(EXAMPLES / "window-bench", folder)
    before = plan(load_job(folder / "job.toml"), scheduled=False, kept=kept)
    text = (folder / "job.toml").read_text("utf-8")
    (folder / "job.toml").write_text(text.replace('title = "', 'title = "(Second) ', 1), "utf-8")
    job = load_job(folder / "job.toml")
    after, anew = plan(job, scheduled=False, kept=kept), plan(job, scheduled=False)
    assert before.machine is not None and after.machine is not None and anew.machine is not None
    texts = [[program.text for program in made.machine.programs] for made in (before, after, anew) if made.machine]
    assert texts[1] == texts[2] != texts[0]
    assert after.machine.programs[0].path is before.machine.programs[0].path


class Watched:
    """Which tables of job and shop, and which fields of a few of them, each stage reads while it works."""

    MODELS = (("stated", JobFile), ("shop", ShopFile), ("piece", Piece), ("job", JobHead))

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.read: dict[str, set[tuple[str, str]]] = {}
        self._stages: list[str] = []
        for name, model in self.MODELS:
            patch.setattr(model, "__getattribute__", self._noting(name, model))
        watched = self

        class Watching(Kept):
            def of(self, stage: str, read: object, work: Callable[[], Any]) -> Any:
                def noted() -> Any:
                    watched._stages.append(stage)
                    try:
                        return work()
                    finally:
                        watched._stages.pop()

                return super().of(stage, read, noted)

        self.kept = Watching()

    def _noting(self, name: str, model: type[Any]) -> Callable[[Any, str], Any]:
        fields = set(model.model_fields)
        plain: Any = model.__getattribute__

        def noting(one: Any, attribute: str) -> Any:
            if self._stages and attribute in fields:
                self.read.setdefault(self._stages[-1], set()).add((name, attribute))
            return plain(one, attribute)

        return noting


@pytest.mark.parametrize("example", ["hall-desk", "window-bench"])
def test_a_stage_reads_nothing_that_it_is_not_kept_by(example: str, monkeypatch: pytest.MonkeyPatch) -> None:
    job = load_job(EXAMPLES / example / "job.toml")
    with monkeypatch.context() as patch:
        watched = Watched(patch)
        plan(job, scheduled=False, kept=watched.kept)
    assert {"lie", "slab", "placing", "top", "base", "mending", "finish", "carry"} <= set(watched.read)
    for stage, read in watched.read.items():
        known = "lie" if stage == "rough slab" else stage
        for model, field in read - {("stated", "job"), ("stated", "piece")}:
            if (known, model, field) == ("placing", "stated", "top"):
                continue  # of the top it reads two fields, which it is kept by
            other: Any = {"shop": job.shop, "stated": job.stated, "piece": job.stated.piece, "job": job.stated.job}[
                model
            ]
            changed = other.model_copy(update={field: ("something", "else")})
            if model == "shop":
                elsewhere = dataclasses.replace(job, shop=changed)
            else:
                stated = changed if model == "stated" else job.stated.model_copy(update={model: changed})
                elsewhere = dataclasses.replace(job, stated=stated)
            assert read_by(elsewhere, known) != read_by(job, known), f"{stage} reads {model}.{field}"


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
