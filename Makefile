# `make run` starts everything on this computer, `make test` proves it. Both need only Python 3.11+ and make.
PYTHON ?= python3
PORT ?= 8000
BIN := .venv/bin
PIP := $(BIN)/python -m pip --quiet --disable-pip-version-check --no-input
export PORT

.PHONY: run stack test test-core test-browser lint format types imports migrations schema deploy bench load faults fuzz taken-away pictures pins clean help

help:
	@sed -n 's/^\([a-z-]*\):.*## /\1\t/p' $(MAKEFILE_LIST) | expand -t 16

run: .venv/run.stamp ## start the program here; PORT=8001 elsewhere, DEMO=no for an empty firm
	@exec $(BIN)/python -m jobsite.serve

stack: .venv/dev.stamp ## the composed service's processes: PostgreSQL over TCP, Redis, proxy with TLS; PORT=8443
	@exec $(BIN)/python -m jobsite.stack

test: test-core test-browser ## set up what is needed and run all tests

# The longest tests come last and beside each other: whoever is done takes half of what is left (worksteal).
test-core: .venv/dev.stamp
	$(BIN)/pytest -n 2 --dist worksteal

test-browser: .venv/dev.stamp
	$(BIN)/pytest tests/browser -n 2 --dist worksteal

lint: .venv/dev.stamp ## ruff, its format, and djlint
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/djlint --lint --quiet jobsite inspections remedials

format: .venv/dev.stamp
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

types: .venv/dev.stamp ## mypy
	$(BIN)/mypy

imports: .venv/dev.stamp ## the floors of the house
	$(BIN)/lint-imports

migrations: .venv/dev.stamp ## whether a migration is missing, or not safe beside a running service
	$(BIN)/python manage.py makemigrations --check --dry-run
	$(BIN)/python manage.py check_migrations

schema: .venv/dev.stamp ## the tables of an empty database anew, from every migration in turn
	$(BIN)/python -m tests.schema

# The settings of a service open to others, with a made-up database that is never asked.
deploy: export DATABASE_URL := postgres://nobody@localhost/none
deploy: export ALLOWED_HOSTS := works.example.com
deploy: export SECRET_KEY := made-up-for-this-check-only-kM3vQ8zR1tX6yB0nL5wJ9cF2hG7sD4a
deploy: .venv/dev.stamp ## Django's own check of the production settings
	$(BIN)/python manage.py check --deploy --fail-level WARNING

bench: .venv/dev.stamp ## measure the pages on a large firm (bench.json), then the whole service under load
	$(BIN)/python -m tests.benchmarks
	$(BIN)/python -m tests.load

load: .venv/dev.stamp ## MINUTES=10 of a whole firm at work on the composed service, at ten times the size (load.json)
	$(BIN)/python -m tests.load

N := 200
faults: .venv/dev.stamp ## N random sequences of faults against a running service; N=1000 for longer
	$(BIN)/python -m tests.faults.sequences $(N)

taken-away: .venv/dev.stamp ## whether each test of tests/security/ASVS.md fails without its defence; ONLY=words for some
	$(BIN)/python -m tests.security.taken_away $(ONLY)

CASES := 500
fuzz: .venv/dev.stamp ## the API against its own description, by chance; CASES=100 an operation for less
	FUZZ=$(CASES) $(BIN)/pytest tests/fuzz -n 2 --dist worksteal

pictures: .venv/dev.stamp ## the README's pictures, from the demo firm
	$(BIN)/python -m tests.browser.pictures

COMPILE := $(BIN)/uv pip compile --quiet --no-emit-index-url --no-header --no-annotate --universal --python-version 3.11
PINS := .
pins: .venv/dev.stamp ## compile requirements*.txt from pyproject.toml
	$(COMPILE) pyproject.toml -o $(PINS)/requirements.txt
	$(COMPILE) --extra dev -c $(PINS)/requirements.txt pyproject.toml -o $(PINS)/requirements-dev.txt

clean: ## remove what the tools made; data below var/ stays
	rm -rf .venv .mypy_cache .ruff_cache .pytest_cache .hypothesis .schemathesis .import_linter_cache

.venv/made.stamp:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "Python 3.11 or newer is needed; name it with: make PYTHON=/path/to/python3"; exit 1; }
	@$(PYTHON) -m venv .venv || \
	  { echo "Python's venv module is missing; on Debian: apt-get install python3-venv"; exit 1; }
	@touch $@

.venv/run.stamp: .venv/made.stamp requirements.txt
	$(PIP) install -r requirements.txt
	@touch $@

.venv/dev.stamp: .venv/made.stamp requirements.txt requirements-dev.txt
	$(PIP) install -r requirements-dev.txt
	@touch $@ .venv/run.stamp
