# make demo   installs into .venv, runs the demo project, says where to look
# make test   installs with test extras, then ruff, mypy --strict, pytest
# make bench  prints the table of measurements
# make docs   builds the guides into build/docs

PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
WORKERS ?= 2

.PHONY: demo test bench docs clean

$(VENV)/.demo: pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e .
	touch $@

$(VENV)/.test: pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[test]'
	touch $@ $(VENV)/.demo

demo: $(VENV)/.demo
	$(BIN)/lodpipe run sample

test: $(VENV)/.test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/pytest -n $(WORKERS) --dist loadfile

bench: $(VENV)/.test
	$(BIN)/python -m bench

docs: $(VENV)/.test
	$(BIN)/mkdocs build --strict

clean:
	rm -rf $(VENV) sample/archive sample/export build *.egg-info
