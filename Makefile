# `make demo` and `make test` are all the set-up there is. Both need only
# Python 3.11 or newer with pip; everything lands in .venv and out/.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check
# One more than there are cores: some tests wait for a browser, or for a track to play.
WORKERS ?= $(shell $(PYTHON) -c 'import os; print((os.cpu_count() or 1) + 1)')
INSTALLED := $(VENV)/.installed
FOR_TESTS := $(VENV)/.installed-for-tests

.PHONY: demo test test-fast lint bench clean

demo: $(INSTALLED)
	$(BIN)/cuegen track examples/harbour-build.yaml --out out/demo.mp3

test: $(FOR_TESTS)
	$(BIN)/python -m pytest -n $(WORKERS) --dist worksteal

test-fast: $(FOR_TESTS)
	$(BIN)/python -m pytest -m "not slow"

lint: $(FOR_TESTS)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

bench: $(FOR_TESTS)
	$(BIN)/python -m tests.bench

clean:
	rm -rf $(VENV) out

$(INSTALLED): pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "cuegen needs Python 3.11 or newer; name one with: make PYTHON=python3.12 ...")'
	$(PYTHON) -m venv $(VENV)
	$(PIP) -e .
	touch $@

# The Piper extra too: its voice is one of those that the tests try. The tests of the
# pages need a Chromium: the one that is there, or one that Playwright fetches.
$(FOR_TESTS): $(INSTALLED)
	$(PIP) -e '.[dev,piper]'
	$(BIN)/python -m tests.pages.chromium
	touch $@
