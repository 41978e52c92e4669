# Two commands matter: `make studio` to use it, `make test` to trust it.
PYTHON ?= python3
BIN := .venv/bin
MANAGE := $(BIN)/python manage.py

.PHONY: setup studio test check bench hours lock

setup: .venv/installed

.venv/installed: requirements-dev.txt
	@test -x $(BIN)/python || $(PYTHON) -m venv .venv
	@$(BIN)/pip install --quiet --disable-pip-version-check -r requirements-dev.txt
	@touch $@

studio: setup
	@$(MANAGE) migrate --verbosity 0
	@$(MANAGE) demo
	@$(MANAGE) serve

test: setup
	@$(BIN)/pytest -n auto

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

# Hours foretold in invented workrooms, some minutes: prints a table, fails nothing.
hours: setup
	@$(BIN)/python tests/bench/workrooms.py

# Pin what pyproject.toml asks for.
lock: setup
	@$(BIN)/pip-compile --quiet --no-emit-index-url --no-emit-find-links --no-emit-trusted-host --strip-extras -o requirements.txt pyproject.toml
	@$(BIN)/pip-compile --quiet --no-emit-index-url --no-emit-find-links --no-emit-trusted-host --strip-extras --extra dev -o requirements-dev.txt pyproject.toml
