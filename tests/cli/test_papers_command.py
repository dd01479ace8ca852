"""``linewright papers`` and the papers of ``linewright report``: files where they are asked for, problems in words."""

from __future__ import annotations

import json
from importlib.util import find_spec
from pathlib import Path

import pytest

from linewright.cli.main import run
from linewright.report.papers import press

needs_papers = pytest.mark.skipif(find_spec("typst") is None, reason="needs the extra papers")


@pytest.fixture
def plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    monkeypatch.chdir(tmp_path)
    assert run(["new", "Oak Stool"]) == 0
    capsys.readouterr()
    return tmp_path / "oak-stool.toml"


@needs_papers
def test_sheets_are_a_pdf_where_nothing_else_is_asked(plan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["papers", plan.name]) == 0
    assert (plan.parent / "oak-stool.sheets.pdf").read_bytes().startswith(b"%PDF")
    assert "oak-stool.sheets.pdf" in capsys.readouterr().out


def test_sheets_as_a_page_and_the_workbook_need_no_extra(
    plan: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(press, "find_spec", lambda _: None)
    assert run(["papers", plan.name, "--html", "--xlsx", "tables.xlsx", "--as-planned", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["written"] == ["oak-stool.sheets.html", "tables.xlsx"]
    assert "<h1>" in (plan.parent / "oak-stool.sheets.html").read_text(encoding="utf-8")
    assert (plan.parent / "tables.xlsx").read_bytes().startswith(b"PK")
    assert run(["papers", plan.name]) == 1
    assert "linewright[papers]" in "".join(capsys.readouterr())
    assert run(["report", plan.name, "--pdf"]) == 1
    assert not (plan.parent / "oak-stool.report.pdf").exists()


def test_a_station_that_is_not_there_is_said(plan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["papers", plan.name, "--html", "--of", "moon"]) == 1
    assert "no sheet has this name" in "".join(capsys.readouterr())


@needs_papers
def test_the_report_as_pdf_and_workbook(plan: Path) -> None:
    assert run(["report", plan.name, "--no-simulate", "--pdf", "--xlsx", "--size", "letter"]) == 0
    assert (plan.parent / "oak-stool.report.pdf").read_bytes().startswith(b"%PDF")
    assert (plan.parent / "oak-stool.xlsx").exists()
    assert not (plan.parent / "oak-stool.report.html").exists()
