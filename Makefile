# Everything here needs only Python 3.11 or newer, git and make: the first call of any
# goal makes a virtual environment in .venv and installs what is needed into it.
PYTHON ?= python3
BIN := .venv/bin
STAMP := .venv/.installed
SPEED ?= 15
SHOWS := link forecast gate evidence service curves screens phone find adapters lies ble

.PHONY: demo test test-all lowest dist docs app mutants coverage format setup clean sheet-docs shell-files $(addprefix show-,$(SHOWS))

demo: setup            ## watch the whole job on a simulated car, SPEED times life
	$(BIN)/sumpgate demo --speed $(SPEED)

test: setup            ## lint, types, import rules, tests; CI=true: the slow ones too
	$(BIN)/python tests/check.py

test-all:              ## what CI runs
	CI=true $(MAKE) test

lowest: setup          ## the lowest versions the bounds allow, tried
	$(BIN)/python tests/packaging/lowest.py

docs: setup            ## the site, in build/site; a warning or a dead link is an error
	$(BIN)/python -m sphinx -q -W --keep-going -b html docs build/site

app: setup             ## one file to start, for this system, in dist/
	$(BIN)/python -m PyInstaller --noconfirm --log-level WARN sumpgate.spec
	cd build && PATH= ../$(BIN)/python ../tests/packaging/tryout.py "$(CURDIR)/dist/sumpgate"

mutants: setup         ## does a changed line of gate, reply, step or forecast fail a test?
	$(BIN)/python tests/mutants.py

dist: setup            ## sdist and wheel
	$(BIN)/python -m build

coverage: setup        ## which branches the everyday tests never take
	$(BIN)/python -m pytest -q -n auto -m "not slow" --cov --cov-report=term:skip-covered

format: setup
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

sheet-docs: setup      ## write the key tables and the JSON schema from the keys
	$(BIN)/python -m bridge.sheets.keys.key_table profiles/README.md
	$(BIN)/python -m tui sheet schema > .venv/sheet.schema.json
	mv .venv/sheet.schema.json profiles/sheet.schema.json

shell-files: setup     ## completion for the shells and the man page, from the parser
	$(BIN)/python tests/packaging/shell_files.py

setup: $(STAMP)

$(STAMP): pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "sumpgate needs Python 3.11 or newer: name one with make PYTHON=..." >&2; exit 1; }
	@test -x $(BIN)/python || $(PYTHON) -m venv .venv || \
	  { echo "No virtual environment: on Debian, apt-get install python3-venv" >&2; \
	    rm -rf .venv; exit 1; }
	$(BIN)/python -m pip install --quiet --editable '.[dev]'
	@touch $@

$(addprefix show-,$(SHOWS)): show-%: setup
	@$(BIN)/python tests/show/$*.py

clean:
	rm -rf .venv build dist *.egg-info .mypy_cache .ruff_cache .pytest_cache .hypothesis
