# The two commands a newcomer needs: `make site` and `make test`. Both do all set-up themselves.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
RUN := $(VENV)/.installed
DEV := $(VENV)/.installed-dev

.PHONY: site serve test unit lint bench pictures clean

site: $(RUN)
	$(BIN)/benchlore schema
	$(BIN)/benchlore build --out site

serve: $(RUN)
	$(BIN)/benchlore serve

test: $(DEV) lint
	$(BIN)/python -m pytest -m "not benchmark"

unit: $(DEV)
	$(BIN)/python -m pytest -q tests/unit

lint: $(DEV)
	$(BIN)/ruff check builder tests
	$(BIN)/ruff format --check builder tests
	$(BIN)/mypy
	$(BIN)/lint-imports

bench: $(DEV)
	$(BIN)/python -m pytest -q -s tests/benchmarks -m benchmark

pictures: $(DEV)
	$(BIN)/python tests/take_pictures.py

$(VENV)/bin/python:
	$(PYTHON) -m venv $(VENV)

$(RUN): pyproject.toml | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable .
	touch $@

# Tests drive a real browser: where Chromium is missing it comes from the system's package manager.
$(DEV): pyproject.toml tests/install_system.sh | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[dev]'
	sh tests/install_system.sh
	touch $@ $(RUN)

clean:
	rm -rf $(VENV) site .mypy_cache .ruff_cache .pytest_cache .hypothesis
