"""A base that cannot be made: one clear line, or a stop with what mends it, through the command as a maker runs it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.end_to_end.commands import SLAB, put_job, run

TOP = "length = 1800\nheight = 450\n"
HEAD = '[job]\ntitle = "Bench"\n\n[piece]\n' + TOP
LOOPS = HEAD + 'base = "closed loops"\n\n' + SLAB + "\n"
FREE = HEAD + "\n" + SLAB + "\n"
CORNERS = {"a": (-630, -160), "b": (630, -160), "c": (630, 160), "d": (-630, 160)}
AT_B = "at = [630, -160, 380]"


def frame(*, pinned: str = "no", slides: str = "false", stands: str = "abcd", legs: str = "abcd") -> str:
    """A table of four posts and four rails."""
    told = '[base]\ntube = "50x50x3"\n'
    for name, (x, y) in CORNERS.items():
        stood = "true" if name in stands else "false"
        told += f'[[base.nodes]]\nname = "{name} foot"\nat = [{x}, {y}, 0]\nstands = {stood}\n'
        told += f'[[base.nodes]]\nname = "{name}"\nat = [{x}, {y}, 380]\nbolt = true\nslides = {slides}\n'
    for first, last in [*((f"{name} foot", name) for name in legs), ("a", "b"), ("b", "c"), ("c", "d"), ("d", "a")]:
        told += f'[[base.members]]\nfirst = "{first}"\nlast = "{last}"\npinned = "{pinned}"\n'
    return told


LOOSE = '[[base.nodes]]\nname = "p"\nat = [0, 0, 100]\n[[base.nodes]]\nname = "q"\nat = [100, 0, 100]\n'
REFUSED: dict[str, tuple[str, str, list[str]]] = {
    "a mechanism": (FREE + frame(pinned="both"), "", ["would fold up", "'a foot'", "add a member that holds it"]),
    "nothing holds the top across": (FREE + frame(slides="true"), "", ["every bolt slides", "let one on each plate be fixed"]),
    "a member without its node": (
        FREE + frame().replace('last = "b"', 'last = "bb"', 1), 'first = "b foot"',
        ["base.members[1]", "there is no node 'bb'", "near ones: b"],
    ),
    "a post that is not there": (FREE + frame(legs="bcd"), 'name = "a foot"', ["no member ends at 'a foot'", "leave it out"]),
    "a piece beside the frame": (
        FREE + frame() + LOOSE + '[[base.members]]\nfirst = "p"\nlast = "q"\n', 'name = "p"',
        ["'p' and what is joined to it meet neither the top nor the rest of the frame"],
    ),
    "a member without length": (
        FREE + frame().replace("at = [630, -160, 0]", AT_B), 'first = "b foot"', ["lie at the same place"],
    ),
    "two feet": (FREE + frame(stands="ab"), "", ["stands on 2 feet and falls over", "three nodes at least"]),
    "one foot": (FREE + frame(stands="a"), "", ["stands on 1 foot and falls over"]),
    "a foot below the floor": (
        FREE + frame().replace("at = [630, -160, 0]", "at = [630, -160, -50]"), "at = [630, -160, -50]",
        ["'b foot' lies 50 mm below the floor", "from the floor up"],
    ),
    "a foot far above the floor": (
        FREE + frame().replace("at = [630, -160, 0]", "at = [630, -160, 90]"), "at = [630, -160, 90]",
        ["'b foot' stands at 90 mm, others at 0 mm"],
    ),
    "a bolt lower than the others": (
        FREE + frame().replace(AT_B, "at = [630, -160, 300]"), "at = [630, -160, 300]",
        ["'b' holds the top at 300 mm, others at 380 mm", "one height"],
    ),
    "a bolt beside the top": (
        FREE + frame().replace(AT_B, "at = [6300, -160, 380]"), "", ["'b' holds the top but lies 5400 mm beyond its edge"],
    ),
    "no such tube, near ones": (LOOPS + '[base]\ntube = "501x40x3"\n', "tube =", ["there is no steel section", "near ones"]),
    "a tube without its wall": (LOOPS + '[base]\ntube = "60x60"\n', "tube =", ["say which, such as square tube 60x4"]),
    "a rail that is no steel": (LOOPS + '[base]\nrail = "oak 60x60x3"\n', "rail =", ["'oak' is no kind of section"]),
    "a wall thicker than half the side": (
        LOOPS + '[base]\ntube = "60x60x31"\n', "tube =", ["half of its side", "nothing is left inside", "60x60x5"],
    ),
    "the same of one member": (
        FREE + frame().replace('last = "b"\n', 'last = "b"\nsection = "40x40x25"\n', 1), "section =",
        ["base.members[1].section", "half of its side"],
    ),
    "bolts as far apart as the plate": (
        LOOPS + "[base]\nplate = { width = 100, bolt_spacing = 120 }\n", "plate =", ["less than the plate's width"],
    ),
    "bolts off the plate": (
        LOOPS + "[base]\nplate = { bolt_spacing = 400 }\n", "plate =", ["lies 200 mm along", "it misses it"],
    ),
    "plates beyond the top's ends": (
        LOOPS + "[base]\nspread = 1700\n", "spread =", ["beyond the ends of a top that is 1800 mm long", "at most 1560 mm goes"],
    ),
    "plates beyond the top's edges": (LOOPS + "[base]\nacross = 900\n", "across =", ["beyond the edges of a top"]),
    "plates that do not reach the uprights": (
        LOOPS.replace("closed loops", "U legs") + "[base]\nacross = 500\nplate = { length = 300 }\n", "plate =",
        ["does not reach the uprights", "500 mm"],
    ),
    "feet that meet": (LOOPS + "[base]\nfeet = { inset = 300 }\n", "feet =", ["brings the feet together", "at most"]),
    "a top that takes up the height": (
        LOOPS.replace("height = 450", "height = 150") + "[base]\nfeet = { height = 120 }\n", "height =",
        ["are", "high; state more than that"],
    ),
    "uprights that leave no room": (
        LOOPS + '[base]\ntube = "150x150x6"\nacross = 300\nplate = { width = 200 }\n', "across =",
        ["no room between two uprights", "at least 320 mm"],
    ),
}  # fmt: skip


def line_of(job: str, mark: str) -> int:
    """The line on which a mark stands first."""
    return job[: job.index(mark)].count("\n") + 1


@pytest.mark.parametrize("name", REFUSED)
@pytest.mark.parametrize("command", ["plan", "check"])
def test_one_line_says_what_is_wrong_with_the_base(
    command: str, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, mark, says = REFUSED[name]
    out = ["--out", tmp_path / "out"] if command == "plan" else []
    message = run(capsys, command, put_job(tmp_path, job), *out).refused()
    if mark:
        # A table on one line has its keys on that line; a node's own key may be told by its table's line.
        line = line_of(job, mark)
        assert any(message.startswith(f"job.toml:{at}: base") or message.startswith(f"job.toml:{at}: piece")
                   for at in (line - 2, line - 1, line)), message  # fmt: skip
    for part in says:
        assert part in message
    assert len(message) < 420 and not (tmp_path / "out").exists()


STOPS: dict[str, tuple[str, str, str, list[str]]] = {
    "a mitre beyond the saw": (
        "", "[saw]\ngreatest_mitre = 30\n", "base/mitre-beyond-saw", ["45.0°", "30.0°", "Butt this joint"],
    ),
    "a part longer than any stock": (
        "", "[steel]\nlengths = [300]\n", "base/longer-than-stock", ["the longest to be had is 300 mm", "longer length"],
    ),
    "a plate wider than the saw reaches": (
        "", "[saw]\nreach = 90\n", "base/wider-than-saw", ["240 mm wide", "reaches 90 mm", "have the yard cut it"],
    ),
    "steel that yields": ("[base]\nplate = { thickness = 2 }\n", "", "base/steel-yields", ["MPa", "thicker plates"]),
}  # fmt: skip


@pytest.mark.parametrize("name", STOPS)
def test_a_stop_of_the_base_says_what_mends_it(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    more, shop, code, says = STOPS[name]
    ran = run(capsys, "plan", put_job(tmp_path, LOOPS + more, shop_toml=shop or None), "--out", tmp_path / "out")
    assert (ran.status, ran.err) == (0, "")
    findings = json.loads((tmp_path / "out" / "plan.json").read_text())["findings"]
    [stop, *_] = [finding for finding in findings if finding["code"] == code]
    assert stop["severity"] == "stop" and stop["remedy"]
    for part in says:
        assert part in stop["message"] + stop["remedy"]
    assert f"STOP  {stop['message']}" in ran.out
