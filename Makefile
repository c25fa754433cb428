# Two commands do everything: `make demo` and `make test`. Each makes its own environment first.
PYTHON ?= python3
VENV := .venv
BIN := $(if $(filter Windows_NT,$(OS)),$(VENV)/Scripts,$(VENV)/bin)
PORT ?= 8000
# One test worker a core.
JOBS ?= $(shell $(PYTHON) -c 'import os; print(os.cpu_count())')
MARKS ?= not bench
# Files are compiled once and not by every test worker and every server that a test starts.
unexport PYTHONDONTWRITEBYTECODE

.PHONY: demo test check lint types imports migrations js docs bench lock clean

demo: $(VENV)/.run
	$(BIN)/python manage.py demo --port $(PORT)

test: $(VENV)/.dev
	$(BIN)/python -m pytest -n $(JOBS) --dist loadgroup --durations 10 -m "$(MARKS)" $(COVERAGE)

# The same suite, and which lines of the packages that run it reaches. Browsers are waited for, so they go uncounted.
check: lint types imports migrations js
	$(MAKE) --no-print-directory test MARKS="not browser and ($(MARKS))" COVERAGE=--cov
	$(MAKE) --no-print-directory test MARKS="browser and ($(MARKS))"

lint: $(VENV)/.dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: $(VENV)/.dev
	$(BIN)/mypy .

imports: $(VENV)/.dev
	$(BIN)/lint-imports

migrations: $(VENV)/.dev
	$(BIN)/python manage.py makemigrations --check --dry-run
	$(BIN)/python manage.py check

# The scripts of the pages: eslint, and unit tests of what needs no browser.
js:
	@if command -v node >/dev/null && command -v npm >/dev/null; then \
	  $(MAKE) --no-print-directory node_modules/.locked && npm run --silent lint && npm run --silent test; \
	elif echo ",$(FANLIGHT_REQUIRE)," | grep -q ",node,"; then \
	  echo "make js: FANLIGHT_REQUIRE names node, but node or npm is not installed" >&2; exit 1; \
	else echo "make js: skipped, because node or npm is not installed"; fi

node_modules/.locked: package-lock.json
	npm ci --silent
	touch $@

# What is generated in docs/: the glossary, which tests use which check value, what becomes of which file.
docs: $(VENV)/.dev
	$(BIN)/python -m tests.architecture.glossary
	$(BIN)/python -m tests.architecture.check_values
	$(BIN)/python -m tests.methods.logs.calendar_words
	$(BIN)/python -m tests.methods.logs.corpus.outcomes

bench: $(VENV)/.dev
	$(BIN)/python -m tests.bench

# What is installed is what the lock says, to the hash; a changed lock is installed again.
$(VENV)/.run: requirements.lock
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements.lock
	touch $@

$(VENV)/.dev: requirements-dev.lock
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements-dev.lock
	touch $@ $(VENV)/.run

# After a change to pyproject.toml or package.json: resolve again, for every Python and system we promise.
lock: $(VENV)/.dev
	$(BIN)/python -m pip install --quiet uv
	$(BIN)/uv pip compile pyproject.toml --universal --python-version 3.11 --generate-hashes \
	  --no-annotate --no-header --no-emit-index-url --no-emit-find-links --upgrade --quiet -o requirements.lock
	$(BIN)/uv pip compile pyproject.toml --group dev --universal --python-version 3.11 --generate-hashes \
	  --no-annotate --no-header --no-emit-index-url --no-emit-find-links --quiet -c requirements.lock -o requirements-dev.lock
	if command -v npm >/dev/null; then npm run --silent relock; fi

clean:
	rm -rf $(VENV) var .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache node_modules
