"""The sheets of the examples, drawn as a printer would draw them."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from slabwright.job.load import load_job
from slabwright.plan import plan
from slabwright.sheets.write import BENCH_SHEETS, write_sheets

EXAMPLES = Path(__file__).parents[2] / "examples"
RENDERER = "pdftoppm"


def read_grey(path: Path) -> np.ndarray:
    """A binary PGM picture, 0 black to 255 white."""
    kind, wide, high, most, body = path.read_bytes().split(maxsplit=4)
    assert kind == b"P5" and most == b"255"
    return np.frombuffer(body[-int(wide) * int(high) :], dtype=np.uint8).reshape(int(high), int(wide))


@pytest.mark.parametrize("example", ["reading-table", "hall-desk", "window-bench"])
def test_the_examples_print(example: str, tmp_path: Path) -> None:
    result = plan(load_job(EXAMPLES / example / "job.toml"))
    write_sheets(result, tmp_path)
    said = [page.extract_text() for page in PdfReader(tmp_path / BENCH_SHEETS).pages]
    assert len(said) >= 8
    for wanted in (
        "What board comes",
        "Set-up",
        "Shim map",
        "Face A before cutting",
        "Wood left on face B",
        "Checks while working",
    ):
        assert any(wanted in text for text in said)


@pytest.mark.needs_program
@pytest.mark.skipif(
    shutil.which(RENDERER) is None,
    reason=f"{RENDERER} is missing: apt-get install poppler-utils, or brew install poppler",
)
def test_every_page_of_the_first_example_has_its_picture(tmp_path: Path) -> None:
    write_sheets(plan(load_job(EXAMPLES / "reading-table" / "job.toml")), tmp_path)
    subprocess.run([RENDERER, "-r", "30", "-gray", tmp_path / BENCH_SHEETS, tmp_path / "page"], check=True)
    drawn = sorted(tmp_path.glob("page*.pgm"))
    assert len(drawn) == len(PdfReader(tmp_path / BENCH_SHEETS).pages)
    for path in drawn:
        grey = read_grey(path)
        high, wide = grey.shape
        strip, above, edge = (
            grey[int(0.9 * high) : int(0.97 * high)],
            grey[: int(0.85 * high)],
            grey[:, : int(0.02 * wide)],
        )
        assert (strip < 128).any(), "the title strip is drawn"
        assert (above < 200).mean() > 0.01, "the page has a picture"
        assert (edge > 250).all(), "nothing runs into the margin"
