# make run    set up if needed and serve on http://127.0.0.1:8000 (PORT=8001 make run)
# make test   every test on SQLite, on PostgreSQL, and in a real browser on both
# make check  format, lint, types, templates, migrations, deployment settings
# make bench  how long the book's own acts take beside bare SQL (SIZE=2500000 make bench)
# make pictures  draw the pictures of README.md and DEVELOPERS.md from the code
# make screenshots  photograph three pages of a small demonstration for README.md
# make contact-sheet  photograph every page at three widths, dark and light, and every paper
# make image-steps  take the container recipe's steps in an empty Debian root, and serve from it
# make book   keep a small book of this version, which the tests of later ones upgrade
# make mutants  faults the rooms' tests must notice (ROOM=ledger SAMPLE=20 SEED=1 make mutants)
.DEFAULT_GOAL := help
.PHONY: help run test check bench mutants pictures screenshots contact-sheet image-steps book format migrations requirements secrets setup-run setup-dev

BIN := .venv/bin
DEPLOYED := TAREBOOK_HTTPS=1 TAREBOOK_HOSTS=tarebook.example SECRET_KEY_FILE=.venv/check-key

# WeasyPrint finds Homebrew's libraries on macOS only when told where they are; exporting it would
# not do, as the system's own shell drops such names.
ifeq ($(shell uname),Darwin)
PYTHON := DYLD_FALLBACK_LIBRARY_PATH=/opt/homebrew/lib:/usr/local/lib $(BIN)/python
else
PYTHON := $(BIN)/python
endif

help:
	@grep '^# make' Makefile | cut -c3-

run: setup-run
	@$(PYTHON) scripts/serve.py

test: setup-dev
	@scripts/setup.sh browser
	@scripts/setup.sh devices
	@$(PYTHON) scripts/suite.py

check: setup-dev
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(PYTHON) -m mypy
	$(BIN)/djlint templates --check --quiet
	$(BIN)/djlint templates --lint --quiet
	$(PYTHON) manage.py makemigrations --check --dry-run
	@$(PYTHON) -c 'import secrets; print(secrets.token_urlsafe(64))' >.venv/check-key
	$(DEPLOYED) $(PYTHON) manage.py check --deploy --fail-level WARNING
	$(PYTHON) -m pytest -q tests/setup/test_repository.py tests/setup/test_pictures.py

bench: setup-dev
	@$(PYTHON) -m benchmarks $(or $(SIZE),100000)

mutants: setup-dev
	@$(PYTHON) -m mutation $(or $(ROOM),all) $(SAMPLE)

pictures: setup-dev
	@$(PYTHON) scripts/pictures.py

screenshots: setup-dev
	@scripts/setup.sh browser
	@$(PYTHON) scripts/screenshots.py

contact-sheet: setup-dev
	@scripts/setup.sh browser
	@$(PYTHON) scripts/contact_sheet.py

image-steps: setup-dev
	@$(PYTHON) scripts/image_steps.py

book: setup-dev
	@$(PYTHON) scripts/book_for_upgrade_tests.py

format: setup-dev
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .
	$(BIN)/djlint templates --reformat --quiet

migrations: setup-dev
	$(PYTHON) manage.py makemigrations

# Newest versions that fit requirements*.in; needs uv.
requirements:
	for name in requirements requirements-dev; do \
	  uv pip compile --upgrade --universal --python-version 3.11 --generate-hashes --no-header \
	    --no-emit-index-url --no-emit-find-links --quiet $$name.in --output-file $$name.txt || exit 1; \
	done

secrets:
	@python3 scripts/make_secrets.py

setup-run:
	@scripts/setup.sh run

setup-dev:
	@scripts/setup.sh dev
