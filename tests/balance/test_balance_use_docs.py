"""docs/balance_use.md runs as it is printed."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def test_the_page_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("ortools", reason="the lines of the examples have several crews: the extra `balance`")
    monkeypatch.chdir(ROOT)
    found = doctest.testfile(str(ROOT / "docs/balance_use.md"), module_relative=False, encoding="utf-8")
    assert found.attempted > 6
    assert found.failed == 0


def test_every_option_of_the_command_is_real() -> None:
    from linewright.cli.commands.balance import command

    text = (ROOT / "docs/balance_use.md").read_text(encoding="utf-8")
    known = {option for parameter in command.params for option in parameter.opts}
    written = {word.strip("`,.") for word in text.split() if word.strip("`").startswith("--")}
    assert written
    assert written <= known
