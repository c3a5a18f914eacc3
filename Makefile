# make review    sets up everything and reviews a sample count into reports/
# make test      sets up everything and runs all tests
# make trend     simulates a season of twelve rehearsals, reviews them all and compares them, into build/season/
# make lint      ruff and mypy
# make accuracy  accuracy on simulated counts, by word error and kinds of log (many minutes)
# make bench     speed and memory, as ratios in one run (some minutes)
# make weights   fits the matcher's weights again, on the fitting scenarios
PYTHON ?= python3
BIN := .venv/bin
READY := .venv/.ready
SAMPLE := heron-7-r02
SEASON := build/season
# One thread a process: the tests run side by side.
export OMP_NUM_THREADS ?= 1

.PHONY: review trend test lint accuracy bench weights browser clean

review: $(READY)
	$(BIN)/aftercount review sample_logs/$(SAMPLE) --out reports/$(SAMPLE)

trend: $(READY)
	rm -rf $(SEASON)/counts
	$(BIN)/aftercount rehearse $(SEASON)/counts --season 12 --seed 7
	$(BIN)/aftercount review $(SEASON)/counts --out $(SEASON)/reviews
	$(BIN)/aftercount trend $(SEASON)/reviews --out $(SEASON)/trend
	@echo "open $(SEASON)/trend/trend.html; what is true of the season is in $(SEASON)/counts/season.truth.json"

test: $(READY) browser
	$(BIN)/python -m pytest -n auto

lint: $(READY)
	$(BIN)/ruff check src tests
	$(BIN)/mypy

accuracy: $(READY)
	$(BIN)/python tests/accuracy/table.py

bench: $(READY)
	set -e; for bench in tests/bench/bench_*.py; do $(BIN)/python $$bench; done

weights: $(READY)
	$(BIN)/python tests/match/fit.py --write

# The page's tests need a Chromium of the system's. Without one they are skipped and say so (under CI=true they fail).
browser:
	@command -v chromium >/dev/null || command -v google-chrome >/dev/null || \
	{ test "$$(id -u)" = 0 && command -v apt-get >/dev/null && apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium >/dev/null; } || \
	echo "no Chromium, and no right to install one: the page's browser tests will be skipped"

$(READY): pyproject.toml .constraints.txt
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --constraint .constraints.txt --editable '.[test]'
	touch $@

clean:
	rm -rf .venv .cache build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
