# Everything a person types; `make help` lists it.
# Paths are relative throughout, so that a clone may lie in a folder with spaces or a very long name.

PYTHON ?= $(shell for p in python3 python3.13 python3.12 python3.11; do \
	$$p -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $$p && break; done)
PY := .venv/bin/python
PORT ?= 8000
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
SEED ?= 1

.DEFAULT_GOAL := help
.PHONY: help setup run test browser lint typecheck check schema checks-table demo backup restore export-crew import-crew bench torture soak fuzz audit scale indexes sizes lock clean

help: ## list the targets
	@grep -hE '^[a-z-]+:.*## ' Makefile | sed -E 's/:[^#]*## /\t/' | sort | while IFS="$$(printf '\t')" read -r t d; \
	do printf '  make %-14s %s\n' "$$t" "$$d"; done

setup: .venv/.warm ## make the virtual environment and install what is needed
	@$(PY) -m compileall -q config crews inventory cabins planning  # also where Python is told to keep none

.venv/.ready: requirements.lock
	@test -n "$(PYTHON)" || { echo "Python 3.11 or newer is needed; name it: make PYTHON=/path/to/python3.11"; exit 1; }
	@echo "-> Virtual environment with $$($(PYTHON) --version)"
	@$(PYTHON) -m venv .venv
	@echo "-> Installing packages (a minute or two; once)"
	@$(PY) -m pip install --quiet --disable-pip-version-check --no-input --require-hashes -r requirements.lock
	@touch $@

.venv/.warm: .venv/.ready
	@echo "-> Compiling the planner's kernels (once)"
	@$(PY) -m planning.core.search.warm
	@touch $@

run: setup ## set up, start everything, plan the demo, serve (PORT=8001, ONCE=1)
	@PORT="$(PORT)" ONCE="$(ONCE)" $(PY) -m config.run

test: setup ## run the tests against PostgreSQL (ARGS="-k rounds")
	@echo "-> Tests"
	@$(PY) -m pytest -n 3 --dist worksteal --cov --cov-report=term:skip-covered --cov-fail-under=95 $(ARGS)

browser: setup ## the tests that drive a browser alone (they are part of make test)
	@$(PY) -m pytest -n 2 --dist worksteal tests/browser $(ARGS)

lint: .venv/.ready ## ruff, mypy, import contracts
	@echo "-> ruff" && $(PY) -m ruff check . && $(PY) -m ruff format --check .
	@echo "-> mypy" && $(PY) -m mypy config crews inventory cabins planning
	@echo "-> import contracts" && $(PY) -c "from importlinter.cli import lint_imports_command; lint_imports_command()"

check: setup ## settings sound, schema not drifted (that migrations are complete is a test)
	@echo "-> Django's checks" && $(PY) manage.py check --fail-level WARNING
	@echo "-> schema not drifted" && $(PY) manage.py spectacular --validate --fail-on-warn --file .private/openapi.yaml \
	&& cmp .private/openapi.yaml docs/openapi.yaml

schema: setup ## write docs/openapi.yaml anew
	@$(PY) manage.py spectacular --validate --fail-on-warn --file docs/openapi.yaml

checks-table: setup ## write docs/checks.md anew: what is checked against the world outside
	@$(PY) -m tests.outside.table > docs/checks.md

demo: setup ## make the demo's files anew from their seed
	@$(PY) -m fixtures.make_demo

backup: setup ## write the whole database to a new file (FILE=roundlay.dump)
	@$(PY) -m config.backup backup "$(FILE)"

restore: setup ## read it back into an empty database (FILE=roundlay.dump, REPLACE=1: keep what is there aside)
	@REPLACE="$(REPLACE)" $(PY) -m config.backup restore "$(FILE)"

export-crew: setup ## write all of one crew's data to a new file (CREW="ID or name" FILE=crew.zip)
	@$(PY) -m config.archive export "$(CREW)" "$(FILE)"

import-crew: setup ## read it into this server, whole or not at all (FILE=crew.zip)
	@$(PY) -m config.archive import "$(FILE)"

bench: setup ## what the service costs beside the database alone (ARGS="--only page --runs 9")
	@$(PY) -m tests.bench.show $(ARGS)

soak: setup ## the whole service under a mixed load (MINUTES=30 CLIENTS=20 SEED=1)
	@$(PY) -m tests.soak.run --minutes "$(MINUTES)" --clients "$(CLIENTS)" --seed "$(SEED)" $(ARGS)

torture: setup ## kill parts of the service again and again while clients write (ROUNDS=200 SEED=1)
	@$(PY) -m tests.torture.run --rounds "$(ROUNDS)" --seed "$(SEED)" $(ARGS)

fuzz: setup ## made-up requests over the whole schema; no 5xx, no undescribed answer (EXAMPLES=100 SEED=1)
	@$(PY) -m tests.fuzz.run --examples "$(EXAMPLES)" --seed "$(SEED)" $(ARGS)

audit: setup ## known vulnerabilities in what is locked
	@$(PY) -m config.audit

scale: setup ## planning jobs a minute with one worker and with two, on this machine (ARGS="--workers 2 --kill-one")
	@$(PY) -m tests.scale.workers $(ARGS)

indexes: setup ## no question about a crew reads a whole table of a million logs in a thousand crews (minutes)
	@SCALE_CREWS=999 SCALE_LOGS=772 $(PY) -m pytest tests/scale/test_indexes.py -q -s $(ARGS)

sizes: setup ## bytes of a log, a plan, a round, a change and a crew in the database (minutes)
	@$(PY) -m tests.scale.sizes $(ARGS)

lock: ## write requirements.lock anew (needs uv)
	uv pip compile --universal --python-version 3.11 --extra dev --generate-hashes pyproject.toml \
	-o requirements.lock --no-emit-index-url --custom-compile-command "make lock"

clean: ## remove the virtual environment and caches; data stays
	@rm -rf .venv .pytest_cache .mypy_cache .ruff_cache .hypothesis .coverage
