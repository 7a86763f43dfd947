# One command each: `make site` builds the demo, `make test` runs everything. Both set themselves up.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
# Debian packages: a virtual environment, a browser for the browser tests, fonts so that pages look the same,
# what the print engine needs, and an independent reader of its PDF.
APT := python3-venv chromium fonts-dejavu-core libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 poppler-utils
# The same browser without windows: the browser tests take half the work with it, and run without it too.
QUICK := chromium-headless-shell

.PHONY: setup system site test lint types unit deviations check mutate lock schema clean

setup: $(VENV)/.ready

$(VENV)/.ready: requirements.lock pyproject.toml | system
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes --requirement requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-build-isolation --no-deps --editable .
	touch $@

# Installs what is missing as root; otherwise says the one line to run, and stops.
system:
	@missing=""; \
	for package in $(APT); do dpkg -s $$package >/dev/null 2>&1 || missing="$$missing $$package"; done; \
	if ! command -v dpkg >/dev/null 2>&1; then exit 0; fi; \
	if [ "$$(id -u)" = 0 ]; then \
		if [ -z "$$missing" ] && dpkg -s $(QUICK) >/dev/null 2>&1; then exit 0; fi; \
		export DEBIAN_FRONTEND=noninteractive; \
		apt-get update -qq || [ -z "$$missing" ] || exit 1; \
		[ -z "$$missing" ] || apt-get install -y -qq $$missing >/dev/null || exit 1; \
		apt-get install -y -qq --no-remove $(QUICK) >/dev/null 2>&1 || \
			echo "Without $(QUICK) the browser tests take longer."; \
	elif [ -n "$$missing" ]; then \
		echo "Missing system packages. Run:  sudo apt-get install$$missing"; exit 1; \
	fi

site: setup
	$(BIN)/procgen build

test: lint types unit check

lint: setup
	$(BIN)/ruff check procgen tests
	$(BIN)/ruff format --check procgen tests

types: setup
	$(BIN)/mypy

# --strict-markers and the floor below make a silent skip of the browser tests a failure.
unit: setup
	$(BIN)/python -m pytest -n 2 tests

# The handbook's page of checks and its data, from the results of the tests that compare with something outside.
deviations: setup
	$(BIN)/python -m pytest -n 2 tests/engineering tests/values/test_independent.py --deviations .

check: setup
	$(BIN)/procgen check

# Not part of `test`: changes each formula a little and lists what no test notices. MODULES="water drain" for some.
mutate: setup
	$(BIN)/python -m tests.mutation $(MODULES)

schema: setup
	$(BIN)/procgen schema

lock: setup
	$(BIN)/uv pip compile --quiet --universal --generate-hashes --no-emit-index-url --no-annotate --no-header \
		--python-version 3.11 --all-extras --upgrade --output-file requirements.lock pyproject.toml

clean:
	rm -rf $(VENV) build site .procgen .pytest_cache .mypy_cache .ruff_cache .hypothesis
