# Two commands matter: `make studio` to use it, `make test` to trust it.
PYTHON ?= python3
BIN := .venv/bin
MANAGE := $(BIN)/python manage.py
# Hundreds of processes begin in the tests: what they import is compiled once, whatever the environment says of it.
export PYTHONDONTWRITEBYTECODE :=

.PHONY: setup studio workroom test coverage browser soak check bench bench-lays bench-photographs hours promises reorder-years mutants lock

setup: .venv/installed

.venv/installed: requirements-dev.txt
	@test -x $(BIN)/python || $(PYTHON) -m venv .venv
	@$(BIN)/pip install --quiet --disable-pip-version-check -r requirements-dev.txt
	@touch $@

studio: setup
	@$(MANAGE) migrate --verbosity 0
	@$(MANAGE) demo
	@$(MANAGE) serve

# An empty workroom of your own, beside the demo: it begins with the first day.
workroom: export STUDIO_DATA := var/workroom
workroom: setup
	@$(MANAGE) migrate --verbosity 0
	@$(MANAGE) serve

test: setup
	@$(BIN)/pytest -n auto --dist loadgroup

# The same, and whether it runs enough of the code: watched line by line, it takes nearly twice as long.
coverage: setup
	@$(BIN)/pytest -n auto --dist loadgroup --cov --cov-report=
	@$(BIN)/coverage json --quiet -o .coverage/report.json
	@$(BIN)/python tests/coverage_floor.py .coverage/report.json

# In Debian's Chromium; a test that is skipped counts as failed, and none at all fails too.
browser: setup
	@$(BIN)/pytest tests/browser

# What takes long: servers killed under load, copies made under load, mutated files.
soak: setup
	@$(BIN)/pytest tests/soak
	@.ci/postgresql $(BIN)/pytest tests/soak/test_kills.py tests/soak/test_backup_soak.py -k "not databases_server"

check: setup
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .
	@$(BIN)/mypy inventory quotes studio
	@$(BIN)/lint-imports
	@$(MANAGE) makemigrations --check --dry-run --verbosity 0
	@STUDIO_HTTPS=1 STUDIO_HOSTS=studio.example $(MANAGE) check --deploy --fail-level WARNING
	@$(BIN)/pylint --disable=all --enable=duplicate-code --min-similarity-lines=12 inventory quotes studio

bench: setup
	@$(BIN)/python tests/bench/run.py

# Lays of published problems beside a plain call of the engine, and of the fixtures beside long searches, an hour and a half:
# prints tables, fails nothing.
bench-lays: setup
	@$(BIN)/python tests/bench/lays.py
	@$(BIN)/python tests/bench/corset_lays.py

# Photographs rendered at random, sound and faulty ones, read and held against the truth, a quarter of an hour: prints tables,
# fails nothing.
bench-photographs: setup
	@$(BIN)/python tests/bench/photographs.py

# Change price, valuation and bridge in small ways, one at a time: which changes does no test notice?
mutants: setup
	@$(BIN)/mutmut run; $(BIN)/mutmut results

# Hours foretold in invented workrooms, some minutes: prints a table, fails nothing.
hours: setup
	@$(BIN)/python tests/bench/workrooms.py

# Days promised in invented workrooms, some minutes: prints a table, fails nothing.
promises: setup
	@$(BIN)/python tests/bench/promises.py

# Years of invented shelves with orders planned at each review, some minutes: prints a table, fails nothing.
reorder-years: setup
	@$(BIN)/python tests/bench/reorder_years.py

# Pin what pyproject.toml asks for.
lock: setup
	@$(BIN)/pip-compile --quiet --no-emit-index-url --no-emit-find-links --no-emit-trusted-host --strip-extras -o requirements.txt pyproject.toml
	@$(BIN)/pip-compile --quiet --no-emit-index-url --no-emit-find-links --no-emit-trusted-host --strip-extras --extra dev -o requirements-dev.txt pyproject.toml
