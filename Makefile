# Each target makes .venv and what it needs by itself; a second call finds the stamps and goes on.
#   make week    a simulated week on the demo site: a table, and week.html
#   make test    style, types, tests
#   make notes   pages of the notes that are made from the board's tables, and the pictures
#   make sentences  all that the product says, in one file to be read: sentences.txt
#   make twin    the demo week and each fault by the control package and by the whole firmware, on
#                64 and on 32 bits: the same log?
#   make sizes   what the firmware takes: each file, heap and tick in each interpreter
#   make campaign  what chance finds, kept in .campaign and gone on with: the page campaign.html;
#                  SEED=N begins there, ARGS='--only NAME --minutes M', ARGS=--fresh draws anew
#   make bench   speed, accuracy and every other figure that is quoted; ARGS='--only NAME' for some

PYTHON  ?= python3
# One more than the cores that it is kept short for: some tests wait for a board on a line.
WORKERS ?= 3
SITE    ?=
ARGS    ?=
SEED    ?=
BIN     := .venv/bin
# Compiling every module was half of an install; what is used is compiled at its first import.
PIP     := $(BIN)/python -m pip install --quiet --disable-pip-version-check --no-compile
NODE    := tests/interpreters/node
OPEN    := $(if $(filter Darwin,$(shell uname)),open,xdg-open)
SAY     := @printf '\n== %s\n'

# Where it is set, each of the hundreds of processes of a test run compiles all libraries anew.
unexport PYTHONDONTWRITEBYTECODE

.PHONY: week test lint types campaign twin bench notes page sentences sizes clean

week: .venv/page.stamp
	$(SAY) 'replaying the nights'
	@$(BIN)/rillkeeper week $(SITE) --page week.html $(ARGS)
	$(SAY) 'the page is week.html; to look at it: $(OPEN) week.html'

page: week

test: lint types .venv/node.stamp
	$(BIN)/python -m pytest -q -n $(WORKERS) tests/keeper firmware/keeper \
	    --cov=keeper --cov-branch --cov-report=term-missing:skip-covered --cov-fail-under=100
	$(BIN)/python -m pytest -q -n $(WORKERS) --dist loadgroup --no-loadscope-reorder -rs \
	    tests sim host --ignore=tests/keeper

lint: .venv/dev.stamp
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: .venv/dev.stamp .venv/typings.stamp
	$(BIN)/mypy
	$(BIN)/mypy --config-file firmware/mypy.ini

campaign: .venv/dev.stamp .venv/node.stamp
	$(BIN)/python -m tests.campaign --workers $(WORKERS) $(if $(SEED),--seed $(SEED)) $(ARGS)

twin: .venv/dev.stamp .venv/node.stamp
	$(BIN)/python -m tests.twin

sizes: .venv/dev.stamp .venv/node.stamp
	$(BIN)/python -m tests.bench.firmware_size

bench: .venv/dev.stamp .venv/node.stamp
	$(BIN)/python -m tests.bench $(ARGS)

notes: .venv/dev.stamp
	$(BIN)/python -m rillkeeper.pages.notes hardware_notes
	$(BIN)/python -m rillkeeper.board.flash.package firmware
	PYTHONPATH=firmware $(BIN)/python -m hardware_notes.building hardware_notes
	PYTHONPATH=firmware $(BIN)/python -m hardware_notes.drawings hardware_notes/pictures

sentences: .venv/dev.stamp
	$(BIN)/python -m tests.sentences sentences.txt

.venv/made.stamp:
	@$(PYTHON) -c 'import sys; sys.exit("rillkeeper needs Python 3.11 or newer; \
	set one with: make PYTHON=python3.11 ..." if sys.version_info < (3, 11) else 0)'
	$(SAY) 'making an environment of its own in .venv'
	@$(PYTHON) -m venv .venv
	@touch $@

.venv/page.stamp: .venv/made.stamp pyproject.toml setup.py
	$(SAY) 'installing numpy, scipy, matplotlib and smaller libraries into it, once: a quarter of a minute'
	@$(PIP) -e '.[page,desk]'
	@touch $@

.venv/dev.stamp: .venv/made.stamp pyproject.toml setup.py
	$(SAY) 'installing the libraries, and what the tests need, once: half a minute'
	@$(PIP) -e '.[page,dev,bench]'
	@touch $@ .venv/page.stamp

# The board's stubs lie apart: in the environment they would hide desktop modules of the same name.
.venv/typings.stamp: .venv/made.stamp firmware/stubs.txt
	$(SAY) 'installing the types of a board, once'
	@$(PIP) --upgrade --target .venv/typings -r firmware/stubs.txt
	@touch $@

# The 32-bit interpreter runs under node, and axe-core comes from npm; without them those tests say
# that they were skipped.
.venv/node.stamp: .venv/made.stamp $(NODE)/package-lock.json
	@if command -v npm >/dev/null; then npm ci --prefix $(NODE) --no-audit --no-fund --silent && touch $@; \
	else echo "npm is not installed: the tests in the 32-bit MicroPython, and those of the pages by axe-core, will be skipped"; fi

clean:
	rm -rf .venv $(NODE)/node_modules .pytest_cache .mypy_cache .ruff_cache .hypothesis
	rm -rf build *.egg-info week.html sentences.txt .campaign campaign.html campaign.json
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
