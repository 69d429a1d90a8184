# Everything works on a fresh machine with Python 3.11 or newer: each target makes its own environment first.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/ready
OUT ?= demo-out

.PHONY: help demo test lint bench clean
.DEFAULT_GOAL := help

help:  ## Say what each target does
	@grep -hE '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*##/\t/' | sort

$(READY): pyproject.toml constraints.txt
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo "Slabwright needs Python 3.11 or newer; say which with: make PYTHON=python3.12 ..."; exit 2; }
	$(PYTHON) -m venv $(VENV)
	$(BIN)/pip install --quiet --disable-pip-version-check --constraint constraints.txt hatchling editables
	$(BIN)/pip install --quiet --disable-pip-version-check --constraint constraints.txt --no-build-isolation --editable '.[test]'
	@touch $@

demo: $(READY)  ## Plan the example jobs and write their sheets to demo-out/
	$(BIN)/python examples/demo.py --out $(OUT)

test: $(READY) lint  ## Lint, types, and every test that this machine can run
	$(BIN)/python -m pytest -n auto --dist loadfile

lint: $(READY)  ## ruff and strict mypy
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

bench: $(READY)  ## Measure what the project claims, each as a row with its ratio
	$(BIN)/python -m bench

clean:  ## Remove what the other targets made
	rm -rf $(VENV) $(OUT) .mypy_cache .pytest_cache .ruff_cache .hypothesis
