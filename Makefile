# Everything sets itself up on a machine with Python 3.11+ and make; the first run fetches packages, the
# next ones use what is there. Another interpreter: make test PYTHON=/path/to/python3.12

.DEFAULT_GOAL := help
SHELL := /bin/sh
VENV := .venv
RUN := $(VENV)/bin/python
PYTEST_ARGS ?=
JOBS ?= 2
# The first of these that is there, works, and is 3.11 or later.
PYTHON ?= $(shell for p in python3.13 python3.12 python3.11 python3 python3.14 python; do \
	if "$$p" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; then echo "$$p"; break; fi; \
	done)
PIP := $(RUN) -m pip install --disable-pip-version-check

.PHONY: help demo test check bench confusion causes docs pages audit clean

help: ## these lines
	@grep -E '^[a-z]+:.*##' Makefile | sed -E 's/:.*## /\t/' | expand -t 14

demo: $(VENV)/.demo ## run the main job on the data of an invented visit
	$(VENV)/bin/firstfrost demo --folder out/demo
	@echo "To open the pages, with this visit in the store:"
	@echo "  $(VENV)/bin/firstfrost serve --demo --store out/demo/store.db"

test: $(VENV)/.test check ## ruff, mypy and all tests
	$(RUN) -m pytest -n $(JOBS) $(PYTEST_ARGS)

check: $(VENV)/.test ## ruff and mypy alone
	$(RUN) -m ruff check
	$(RUN) -m ruff format --check --quiet || { echo "Not formatted: run $(RUN) -m ruff format"; exit 1; }
	$(RUN) -m mypy

pages: $(VENV)/.pages ## build the pages in the browser from frontend/
	$(RUN) scripts/build_pages.py

bench: $(VENV)/.test ## each claim of speed, beside what it is held against
	@set -e; for b in benchmarks/bench_*.py; do echo "== $$b"; $(RUN) $$b; done

confusion: $(VENV)/.test ## standings of made visits against their truth (VISITS=1000 SEED=1)
	cd tests && PYTHONPATH=../src ../$(RUN) -m made.confusion --visits $(or $(VISITS),400) --seed $(or $(SEED),1)

causes: $(VENV)/.test ## causes of made faults against their truth, some twenty minutes (EACH=150)
	cd tests && PYTHONPATH=../src ../$(RUN) -m made.confusion_causes --each $(or $(EACH),150)

audit: $(VENV)/.test ## known holes in what Firstfrost runs on; asks an advisory service on the internet
	@$(PIP) --quiet --group audit || { echo "NOT AUDITED: pip-audit cannot be had here." >&2; exit 3; }
	$(RUN) -m pip check
	@$(RUN) -m pip freeze --exclude-editable > $(VENV)/audit.txt
	@$(RUN) scripts/audit.py $(VENV)/audit.txt

docs: $(VENV)/.demo ## the pages that are made from code
	$(RUN) scripts/make_docs.py
	$(RUN) scripts/make_bench_docs.py
	$(RUN) scripts/make_page_data.py
	$(RUN) scripts/make_causes_docs.py
	$(RUN) tests/trace/bad_input.py

$(VENV)/.pages: $(VENV)/.demo pyproject.toml
	@$(PIP) --quiet --group pages
	@touch $@

clean: ## take away what was set up and made
	rm -rf $(VENV) out frontend/node_modules src/firstfrost/web/pages .pytest_cache .mypy_cache .ruff_cache .hypothesis

$(VENV)/.venv:
	@if [ ! -x $(RUN) ]; then \
		if [ -z "$(PYTHON)" ]; then \
			echo "No Python 3.11 or later was found. Install one, or name it:" \
				"make $(MAKECMDGOALS) PYTHON=/path/to/python" >&2; exit 1; \
		fi; \
		"$(PYTHON)" -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { \
			echo "$(PYTHON) is not a Python of 3.11 or later. Name one:" \
				"make $(MAKECMDGOALS) PYTHON=/path/to/python" >&2; exit 1; }; \
	fi
	@if [ -x $(RUN) ]; then \
		echo "[1/3] Using $(VENV)"; \
	else \
		echo "[1/3] Making $(VENV) with $(PYTHON)"; \
		"$(PYTHON)" -m venv $(VENV) || { rm -rf $(VENV); \
			echo "$(PYTHON) cannot make a virtual environment. On Debian and Ubuntu: apt install python3-venv" >&2; exit 1; }; \
	fi
	@$(RUN) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { \
		echo "$(VENV) has an older Python than 3.11. Remove it (make clean) and try again." >&2; exit 1; }
	@$(PIP) --quiet --upgrade 'pip>=25.1'
	@touch $@

$(VENV)/.demo: $(VENV)/.venv pyproject.toml
	@echo "[2/3] Installing Firstfrost and what it runs on"
	@$(PIP) --group run --group serve --editable .
	@$(RUN) -m compileall -q src
	@touch $@

$(VENV)/.test: $(VENV)/.demo pyproject.toml
	@echo "[3/3] Installing what the tests need"
	@$(PIP) --group run --group serve --group test --group check
	@$(PIP) --quiet --group simulator || echo "EnergyPlus cannot be had here: the checks against it are skipped"
	@$(PIP) --quiet --group pages || echo "Node or Playwright cannot be had here: the tests of the pages are skipped"
	@$(PIP) --quiet --group weather || echo "demandlib or pvlib cannot be had here: the checks against their weather are skipped"
	@$(PIP) --quiet --group certified || echo "hplib cannot be had here: the checks against it are skipped"
	@touch $@
