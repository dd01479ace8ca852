# Two commands do everything on a machine with git, Python 3.11+ and make:
#   make answer    installs, and answers an example plan
#   make test      installs, and runs everything CI runs
PYTHON ?= python3
VENV   ?= .venv
BIN    := $(VENV)/bin
PLAN   ?= examples/trailer.toml

.PHONY: answer test pictures clean

answer: $(VENV)/installed-answer
	$(BIN)/linewright answer $(PLAN)

test: $(VENV)/installed-test
	$(BIN)/python scripts/check.py

$(VENV)/bin/python:
	$(PYTHON) -m venv $(VENV)

$(VENV)/installed-answer: pyproject.toml constraints.txt | $(VENV)/bin/python
	$(BIN)/pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[all]'
	touch $@

$(VENV)/installed-test: pyproject.toml constraints.txt | $(VENV)/bin/python
	$(BIN)/pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[all,frames,test]'
	touch $@

pictures: $(VENV)/installed-test
	$(BIN)/python scripts/pictures.py

clean:
	rm -rf $(VENV)
