from __future__ import annotations

import subprocess
import sys

import slabwright


def test_plan_is_the_function_whatever_was_imported_before() -> None:
    code = (
        "import slabwright.plan; from slabwright import plan, load_job; from slabwright.slab import seat; "
        "print(callable(plan), callable(seat))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["True", "True"]


def test_every_public_name_is_there() -> None:
    for name in slabwright.__all__:
        assert getattr(slabwright, name) is not None


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys\nsys.argv = ['slabwright', '--help']\nfrom slabwright.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print(sorted({'numpy', 'scipy', 'shapely', 'pydantic', 'ezdxf', 'typst', 'pint', 'trimesh'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
