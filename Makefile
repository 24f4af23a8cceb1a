# `make` alone lists what there is. Needs only python3 (3.11 or later, with venv) and make.

PYTHON ?= python3
HOST   ?= 127.0.0.1
PORT   ?= 8000
DEMO   ?= yes

VENV   := .venv
BIN    := $(VENV)/bin
MANAGE := $(BIN)/python manage.py
STAMP  := $(VENV)/installed.lock

.DEFAULT_GOAL := help
.PHONY: help setup run test check format bench lock

help: ## list the commands
	@awk -F ':.*## ' '/^[a-z]+:.*## / { printf "  make %-8s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

setup: $(STAMP) ## make the environment in .venv from the lock (only when the lock has changed)
	@:

$(STAMP): requirements.lock
	@$(PYTHON) -c 'import sys; sys.version_info >= (3, 11) or sys.exit("Python 3.11 or later is needed; PYTHON=python3.x names another.")'
	@$(PYTHON) -c 'import ensurepip' 2>/dev/null || { echo 'This Python cannot make environments; on Debian: apt-get install python3-venv'; exit 1; }
	@echo 'Installing the locked packages into $(VENV) (about a minute the first time) ...'
	@test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	@$(BIN)/python -m pip install -qq --root-user-action=ignore --disable-pip-version-check --require-hashes -r requirements.lock
	@cp requirements.lock $@

run: setup ## start on http://127.0.0.1:8000 with the demo company (PORT=, HOST=; DEMO=no starts empty)
	@$(MANAGE) migrate --verbosity 0
	@if [ '$(DEMO)' != no ]; then $(MANAGE) load_demo; fi
	@$(MANAGE) collectstatic --noinput --verbosity 0
	@if [ '$(DEMO)' != no ]; then $(MANAGE) demo_logins; fi
	@$(MANAGE) first_owner --at 'http://$(HOST):$(PORT)'
	@echo 'Tenth Year is at http://$(HOST):$(PORT) (Ctrl-C stops it).'
	@exec $(BIN)/gunicorn fleet.wsgi --bind $(HOST):$(PORT) --workers 2 --threads 4 --keep-alive 75 --no-control-socket --log-level warning

test: setup ## run every test on SQLite, then those that use the database on PostgreSQL
	@echo '== SQLite'
	@$(BIN)/python -m pytest -n 2 --dist loadfile --no-loadscope-reorder
	@echo '== PostgreSQL'
	@$(BIN)/python -m tests.postgres

# Its own data folder, so that a check neither needs nor touches what a run has written.
check: export DATA_DIR := $(VENV)/check
check: setup ## format, lint, types, direction of imports, migrations, deployment
	@$(BIN)/ruff format --check --quiet --output-format concise . || { echo 'Not formatted: run make format'; exit 1; }
	@$(BIN)/ruff check --quiet --output-format concise .
	@$(BIN)/mypy --no-error-summary
	@$(BIN)/lint-imports --no-logo
	@$(MANAGE) makemigrations --check --dry-run
	@HTTPS=1 $(MANAGE) check --deploy --fail-level WARNING

format: setup ## put the code in the one format, and mend what the linter can
	@$(BIN)/ruff format --quiet .
	@$(BIN)/ruff check --quiet --fix .

bench: setup ## measure, as ratios within one run
	@$(BIN)/python -m tests.bench

LOCK := $(BIN)/pip-compile --quiet --generate-hashes --strip-extras --allow-unsafe --no-header --no-annotate \
	--no-emit-index-url --no-emit-find-links --no-emit-trusted-host

lock: setup ## make the locks anew from pyproject.toml (UP=--upgrade takes the newest versions)
	@$(LOCK) $(UP) --extra dev --output-file requirements.lock pyproject.toml
	@$(LOCK) --constraint requirements.lock --output-file requirements-run.lock pyproject.toml
