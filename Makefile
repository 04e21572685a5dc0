# `make demo` and `make test` start from a machine with Python 3.11 and nothing else of ours.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
OUT ?= out/demo
DEMO_STUDIO ?= out/demo-studio
SOURCES := $(shell find src -name '*.py')

.PHONY: setup demo test audio lint bench nightly pictures clean

# Compiled modules halve the start-up, and some machines are set not to keep them by themselves.
setup: $(VENV)/.ready
	@$(BIN)/python -m compileall -q -j 0 src

$(VENV)/.ready: pyproject.toml constraints.txt tools/make_venv.sh
	PYTHON="$(PYTHON)" sh tools/make_venv.sh $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[sound]'
	touch $@

$(VENV)/.ready-test: $(VENV)/.ready
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[test]'
	touch $@

demo: setup
	$(BIN)/passagework guide src/passagework/demo/evening-ferry.musicxml --out $(OUT)
	$(BIN)/python -m passagework.web.demo_studio $(DEMO_STUDIO)
# The page stays open until it is told to stop, so it is opened only where somebody can tell it.
	@if [ -t 0 ] && [ -t 1 ]; then $(BIN)/passagework serve --data $(DEMO_STUDIO); \
	else echo "To look around in it: $(BIN)/passagework serve --data $(DEMO_STUDIO)"; fi

# Recordings need a large extra; `make test` runs their tests where it is there, and says so where it is not.
$(VENV)/.ready-audio: $(VENV)/.ready-test
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[audio]'
	touch $@

audio: $(VENV)/.ready-audio

lint: $(VENV)/.ready-test
	$(BIN)/ruff check src tests tools bench
	$(BIN)/ruff format --check src tests tools bench
	$(BIN)/mypy
	$(BIN)/lint-imports

test: setup $(VENV)/.ready-test lint
	sh tools/find_browser.sh $(BIN)
	$(BIN)/python -m pytest -n 2

nightly: $(VENV)/.ready-test
	$(BIN)/python -m pytest -n 2 --nightly

bench: $(VENV)/.ready-test
	$(BIN)/python -m bench

# The handbook's pictures, from the page as it is now.
pictures: $(VENV)/.ready-test
	$(BIN)/python tools/picture_handbook.py docs/images

clean:
	rm -rf $(VENV) out build dist src/*.egg-info
