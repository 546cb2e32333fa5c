# Everything a fresh machine with Python 3.11+ and make needs; `make` alone lists what there is.
PYTHON ?= python3
BIN := .venv/bin
ARGS ?=
UV_VERSION := 0.13.9

.DEFAULT_GOAL := help
.PHONY: help demo test lint lock system

help: ## list these commands
	@grep -hE '^[a-z]+:.*## ' $(MAKEFILE_LIST) | awk -F ':.*## ' '{printf "make %-6s %s\n", $$1, $$2}'

demo: .venv/ok-run ## compute a made-up job, then serve its page (ARGS=--no-serve ends after computing)
	@$(BIN)/drainward demo $(ARGS)

test: lint system ## install what tests need, check the code, run every test
	$(BIN)/pytest -n 2

lint: .venv/ok-test ## check style, format, types and the direction of imports
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

lock: .venv/ok-run ## pin again after a change of dependencies in pyproject.toml
	$(BIN)/pip install -q uv==$(UV_VERSION)
	$(BIN)/uv pip compile $(PIN) --extra build -o requirements.txt pyproject.toml
	$(BIN)/uv pip compile $(PIN) --extra build --extra dev -c requirements.txt -o requirements-dev.txt pyproject.toml

PIN := --generate-hashes --no-emit-index-url --no-annotate --no-header --universal --python-version 3.11 -q

system: ## install Chromium and poppler, which tests drive, from Debian's packages
	@.ci/system-packages

.venv/ok-run: requirements.txt pyproject.toml
	$(call install,$<)

.venv/ok-test: requirements-dev.txt pyproject.toml
	$(call install,$<)

# Hashes are checked, and the build backend is a pinned one: nothing is fetched that is not written down.
define install
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or newer is needed: make PYTHON=...")'
	test -x $(BIN)/pip || $(PYTHON) -m venv .venv
	$(BIN)/pip install -q --disable-pip-version-check --require-hashes -r $(1)
	$(BIN)/pip install -q --disable-pip-version-check --no-deps --no-build-isolation -e .
	touch $@
endef
