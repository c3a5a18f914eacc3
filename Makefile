# make review  sets up everything and reviews sample_logs into reports/
# make test    sets up everything and runs all tests
PYTHON ?= python3
BIN := .venv/bin
READY := .venv/.ready
SAMPLE := sample_logs/heron-7-r02

.PHONY: review test lint clean

review: $(READY)
	$(BIN)/aftercount review $(SAMPLE) --out reports/heron-7-r02

test: $(READY)
	$(BIN)/python -m pytest

lint: $(READY)
	$(BIN)/ruff check src tests
	$(BIN)/mypy

$(READY): pyproject.toml .constraints.txt
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --constraint .constraints.txt --editable '.[test]'
	touch $@

clean:
	rm -rf .venv build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
