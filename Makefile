# Everything a person types; `make help` lists it.
# Paths are relative throughout, so that a clone may lie in a folder with spaces or a very long name.

PYTHON ?= $(shell for p in python3 python3.14 python3.13 python3.12 python3.11; do \
	$$p -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $$p && break; done)
PY := .venv/bin/python
# A lock is complete and is installed as it stands: nothing is resolved, so nothing depends on what is newest today.
# Bytecode is left to Python, which compiles only what is imported: that saves a third of the time and 55 MB.
INSTALL := $(PY) -m pip install --quiet --disable-pip-version-check --no-input --no-deps --require-hashes --no-compile
PORT ?= 8000
LAN ?=
ONCE ?=
ARGS ?=
ROUNDS ?= 200
SEED ?= 1
EXAMPLES ?= 100
FILE ?=
CREW ?=
REPLACE ?=
MINUTES ?= 30
CLIENTS ?= 20
# Some shells set HOST to the machine's name by themselves: only what is typed here counts.
HOST_GIVEN = $(if $(filter command,$(firstword $(origin HOST))),$(HOST))

.DEFAULT_GOAL := help
.PHONY: help setup kernels dev run sign-in demo-data test coverage test-all test-whole $(WHOLE:%=test-%) lint check schema examples checks-table screens picture demo backup restore restore-drill \
	export-crew import-crew bench bench-start torture soak fuzz mutants audit scale indexes sizes lock check-install clean

help: ## list the targets
	@grep -hE '^[a-z-]+:.*## ' Makefile | sed -E 's/:[^#]*## /\t/' | sort | while IFS="$$(printf '\t')" read -r t d; \
	do printf '  make %-14s %s\n' "$$t" "$$d"; done

setup: .venv/.run ## make the virtual environment and install what the service needs
	@$(PY) -m compileall -q config crews inventory cabins planning  # also where Python is told to keep none

.venv/.run: requirements.lock
	@test -n "$(PYTHON)" || { echo "Python 3.11 or newer is needed; name it: make PYTHON=/path/to/python3.11"; exit 1; }
	@echo "-> Virtual environment with $$($(PYTHON) --version)"
	@$(PYTHON) -m venv .venv
	@echo "-> Installing what the service needs (150 MB to download at first, then about a minute)"
	@$(INSTALL) -r requirements.lock
	@told=$$($(PY) -m pip --disable-pip-version-check check) || { echo "$$told"; exit 1; }
	@touch $@

dev: .venv/.dev ## add what developers need: tests, linters, types

.venv/.dev: .venv/.run requirements-dev.lock
	@echo "-> Installing what developers need (once, about a minute)"
	@$(INSTALL) -r requirements-dev.lock
	@told=$$($(PY) -m pip --disable-pip-version-check check) || { echo "$$told"; exit 1; }
	@touch $@

kernels: .venv/.run
	@$(PY) -m planning.core.search.warm

run: setup ## set up, start everything, plan the demo, serve (PORT=8001, ONCE=1, LAN=1 or HOST=192.168.1.20)
	@PORT="$(PORT)" LAN="$(LAN)" ONCE="$(ONCE)" BIND="$(HOST_GIVEN)" $(PY) -m config.run

sign-in: setup ## another link that signs a browser in, while make run serves (the same PORT, LAN, HOST)
	@PORT="$(PORT)" LAN="$(LAN)" BIND="$(HOST_GIVEN)" $(PY) -m config.welcome

demo-data: setup ## load the demo into an empty database of your own (DATABASE_URL)
	@$(PY) -m config.demo

# Bytecode is kept, also where Python is told to keep none: else each process compiles every test anew.
PYTEST := PYTHONDONTWRITEBYTECODE= $(PY) -m pytest --dist loadscope
# What drives whole programs and takes minutes: a folder under tests/, and the marker of its tests.
WHOLE := browser clients service fuzz torture soak scale

test: dev kernels ## cores, API and all that a change usually breaks, against PostgreSQL (ARGS="-k rounds")
	@echo "-> Tests"
	@$(PYTEST) -n 3 $(WHOLE:%=--ignore=tests/%) $(ARGS)

coverage: dev kernels ## the cores by their own tests alone: every line that none of them runs
	@echo "-> Coverage of the cores"
	@$(PYTEST) -n 3 tests/inventory/core tests/cabins/core tests/planning/core tests/outside \
		--cov --cov-report=term:skip-covered --cov-fail-under=95 $(ARGS)

test-all: test test-whole ## and what drives browsers, whole services and generated clients (make test-browser: one kind)

test-whole: dev kernels
	@echo "-> Tests of whole programs"
	@STATES=200 $(PYTEST) -n 3 $(WHOLE:%=tests/%) tests/planning/test_one_truth.py $(ARGS)

$(WHOLE:%=test-%): dev kernels
	@$(PYTEST) -n 2 $(@:test-%=tests/%) $(ARGS)

lint: dev ## ruff, mypy, import contracts
	@echo "-> ruff" && $(PY) -m ruff check . && $(PY) -m ruff format --check .
	@echo "-> mypy" && $(PY) -m mypy config crews inventory cabins planning
	@echo "-> import contracts" && $(PY) -c "from importlinter.cli import lint_imports_command; lint_imports_command()"

check: dev ## Django's own checks (that the schema and the migrations follow the code are tests)
	@echo "-> Django's checks" && $(PY) manage.py check --fail-level WARNING

schema: dev ## write docs/openapi.yaml anew
	@$(PY) -m config.schema_file

examples: dev ## write docs/api/examples.json anew from the demo, while make run serves it (the same PORT)
	@PORT="$(PORT)" $(PY) -m config.collect_examples

checks-table: dev ## write docs/checks.md anew: what is checked against the world outside
	@$(PY) -m tests.outside.table > docs/checks.md

screens: dev kernels ## every page, drawing and sheet of the demo as PNG in screens/ (minutes; needs a Chromium)
	@$(PY) -m tests.screens.take $(ARGS)

picture: dev kernels ## README's picture of the demo's cabin, planned and drawn anew
	@$(PY) -m tests.screens.take --picture

demo: dev kernels ## make the demo's files anew from their seed
	@$(PY) -m fixtures.make_demo

backup: setup ## write the whole database to a new file (FILE=roundlay.dump)
	@$(PY) -m config.backup backup "$(FILE)"

restore: setup ## read it back into an empty database (FILE=roundlay.dump, REPLACE=1: keep what is there aside)
	@REPLACE="$(REPLACE)" $(PY) -m config.backup restore "$(FILE)"

restore-drill: setup ## read the newest backup (FILE=folder or file) into a database of its own, and hold it against its counts
	@$(PY) -m config.backup drill "$(FILE)"

export-crew: setup ## write all of one crew's data to a new file (CREW="ID or name" FILE=crew.zip)
	@$(PY) -m config.archive export "$(CREW)" "$(FILE)"

import-crew: setup ## read it into this server, whole or not at all (FILE=crew.zip)
	@$(PY) -m config.archive import "$(FILE)"

bench-start: ## seconds from an empty clone to the printed setting sheet, and sizes (minutes; alone on the machine)
	@$(PYTHON) -m tests.install.bench_start $(ARGS)

bench: dev kernels ## what the service costs beside the database alone (ARGS="--only page --runs 9")
	@$(PY) -m tests.bench.show $(ARGS)

soak: dev kernels ## the whole service under a mixed load (MINUTES=30 CLIENTS=20 SEED=1)
	@$(PY) -m tests.soak.run --minutes "$(MINUTES)" --clients "$(CLIENTS)" --seed "$(SEED)" $(ARGS)

torture: dev kernels ## kill parts of the service again and again while clients write (ROUNDS=200 SEED=1)
	@$(PY) -m tests.torture.run --rounds "$(ROUNDS)" --seed "$(SEED)" $(ARGS)

fuzz: dev ## made-up requests over the whole schema; no 5xx, no undescribed answer (EXAMPLES=100 SEED=1)
	@$(PY) -m tests.fuzz.run --examples "$(EXAMPLES)" --seed "$(SEED)" $(ARGS)

mutants: dev kernels ## change the code in small ways and see whether the tests notice (ARGS="--sample 60 --seed 2"; hours)
	@$(PY) -m tests.mutants.run $(ARGS)

audit: dev ## known vulnerabilities in what is locked
	@$(PY) -m config.audit

scale: dev kernels ## planning jobs a minute with one worker and with two, on this machine (ARGS="--workers 2 --kill-one")
	@$(PY) -m tests.scale.workers $(ARGS)

indexes: dev ## no question about a crew reads a whole table of a million logs in a thousand crews (minutes)
	@SCALE_CREWS=999 SCALE_LOGS=772 $(PY) -m pytest tests/scale/test_indexes.py -q -s $(ARGS)

sizes: dev ## bytes of a log, a plan, a round, a change and a crew in the database (minutes)
	@$(PY) -m tests.scale.sizes $(ARGS)

lock: ## write both locks anew from pyproject.toml, with as few changes as can be (brings its own uv)
	@set -e; uv=$$(command -v uv || true); if [ -z "$$uv" ]; then \
		scratch=$$(mktemp -d); trap 'rm -rf "$$scratch"' EXIT; $(PYTHON) -m venv "$$scratch"; \
		"$$scratch/bin/python" -m pip install --quiet --disable-pip-version-check uv; uv="$$scratch/bin/uv"; fi; \
	lock() { "$$uv" pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url \
		--custom-compile-command "make lock" pyproject.toml -o "$$@"; }; \
	lock requirements.lock; lock requirements-dev.lock --extra dev --constraint requirements.lock

check-install: ## both locks go in as they stand, with an old pip and the newest (minutes; part of CI)
	@$(PYTHON) -m tests.install.check_install $(ARGS)

clean: ## remove the virtual environment and caches; data stays (make run says where it lies)
	@rm -rf .venv .pytest_cache .mypy_cache .ruff_cache .hypothesis .coverage
