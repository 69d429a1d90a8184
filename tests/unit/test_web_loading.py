"""A job that is loaded with its readings already on the disk is the job that its whole folder states."""

from __future__ import annotations

import dataclasses
import shutil
from pathlib import Path

import pytest

from slabwright.findings import SlabwrightError
from slabwright.job.folder import read_folder
from slabwright.job.load import load_job
from slabwright.kept import print_of
from slabwright.web.planning import Loader

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.mark.parametrize("example", ["hall-desk", "reading-table", "window-bench"])
def test_it_is_the_same_job(example: str) -> None:
    loader, folder = Loader(), EXAMPLES / example
    files = dict(read_folder(folder).files)
    for _ in range(2):
        ours, whole = loader.load(files), load_job(folder / "job.toml")
        assert (ours.stated, ours.shop, ours.where, ours.file) == (whole.stated, whole.shop, whole.where, whole.file)
        assert repr(ours.history) == repr(whole.history)
        assert (ours.readings is None) == (whole.readings is None)
        for one, other in zip((ours.readings, *ours.rereadings), (whole.readings, *whole.rereadings), strict=True):
            assert one is not None and other is not None
            assert print_of(one) == print_of(other)
    loader.close()


def test_what_is_typed_and_what_is_read_may_change() -> None:
    loader = Loader()
    files = dict(read_folder(EXAMPLES / "reading-table").files)
    first = loader.load(files)
    other = files | {"job.toml": files["job.toml"].replace(b"height = 740", b"height = 720")}
    assert loader.load(other).stated.piece.height == 720.0
    less = files | {"survey.csv": b"".join(files["survey.csv"].splitlines(keepends=True)[:-40])}
    read = loader.load(less).readings
    assert read is not None and first.readings is not None
    assert print_of(read) != print_of(first.readings)
    without = {name: data for name, data in files.items() if name != "shop.toml"}
    assert not any(key.startswith("shop:machine") for key in loader.load(without).where)
    with pytest.raises(SlabwrightError, match="survey"):
        loader.load({name: data for name, data in files.items() if name != "survey.csv"})
    loader.close()


def test_files_that_somebody_took_away_are_written_again() -> None:
    loader = Loader()
    files = dict(read_folder(EXAMPLES / "reading-table").files)
    folder = loader.load(files).folder
    shutil.rmtree(folder)
    again = loader.load(files)
    assert again.folder != folder
    assert dataclasses.replace(again, folder=folder).readings is not None
    loader.close()
    assert not again.folder.exists()
