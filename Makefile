# `make demo` and `make test` are all the set-up there is. Both need only
# Python 3.11 or newer with pip; everything lands in .venv and out/.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.installed

.PHONY: demo test test-fast lint bench clean

demo: $(STAMP)
	$(BIN)/cuegen track examples/harbour-build.yaml --out out/demo.mp3

test: $(STAMP)
	$(BIN)/python -m pytest

test-fast: $(STAMP)
	$(BIN)/python -m pytest -m "not slow"

lint: $(STAMP)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

bench: $(STAMP)
	$(BIN)/python -m tests.bench

clean:
	rm -rf $(VENV) out

$(STAMP): pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "cuegen needs Python 3.11 or newer; name one with: make PYTHON=python3.12 ...")'
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[dev]'
	touch $(STAMP)
