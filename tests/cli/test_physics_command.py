"""``linewright physics``: every model from the command line, its JSON, its page, its problems, and the forecast."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from linewright.cli.main import run
from linewright.physics.models import MODELS

ASKED = {name: [text for c in model.conditions if c.default is None and not c.optional
                for text in (f"--{c.name.replace('_', '-')}", c.example.strip('"'))]
         for name, model in MODELS.items()}  # fmt: skip
ASKED["ferment"] += ["--sugar", "195 g/L"]
ASKED["heat"] = ["--thickness", "18 mm", "--from", "20 degC", "--to", "60 degC", "--around", "105 degC"]


def called(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = run(["physics", *arguments])
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.parametrize("name", sorted(MODELS))
def test_every_model_answers_in_json_and_with_a_page(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, name: str
) -> None:
    page = tmp_path / "page.html"
    code, out, _ = called(capsys, name, *ASKED[name], "--json", "--still", "--picture", str(page))
    data = json.loads(out)
    assert code == 0
    assert data["exit"] == 0
    assert data["seconds"] > 0
    assert data["hangs_on"]["slopes"]
    text = page.read_text(encoding="utf-8")
    assert "<svg" in text
    assert "default-src 'none'" in text


@pytest.mark.parametrize("name", sorted(MODELS))
def test_help_names_every_condition(capsys: pytest.CaptureFixture[str], name: str) -> None:
    code, out, _ = called(capsys, name, "--help")
    assert code == 0
    for condition in MODELS[name].conditions:
        assert f"--{condition.name.replace('_', '-')}" in out


def test_words_and_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = called(capsys, "ferment", *ASKED["ferment"], "--picture", "-")
    assert code == 0
    assert "it takes" in out
    assert "What the time of" in out
    assert "consciousness without warning" in " ".join(out.split())


def test_an_end_that_is_never_reached_is_exit_3(capsys: pytest.CaptureFixture[str]) -> None:
    stuck = ["--sugar", "264 g/L", "--nitrogen", "80 mg/L", "--temperature", "35 degC", "--picture", "-"]
    code, out, _ = called(capsys, "ferment", *stuck)
    assert code == 3
    assert "never reached" in out
    code, out, _ = called(capsys, "ferment", *stuck, "--json")
    assert code == 3
    assert json.loads(out)["seconds"] is None


def test_problems_come_all_at_once(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = called(capsys, "cool", "--thickness", "18", "--from", "105 degC")
    said = out + err
    assert code == 1
    assert "cool.thickness" in said
    assert "cool.to" in said
    assert called(capsys, "melt")[0] == 2


def test_forecast_of_a_log(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    log = tmp_path / "tank.csv"
    rows = ["0,195,16", "24,194,16", "48,189,16", "72,181,16.5", "96,171,16", "120,160,16"]
    log.write_text("time [h],sugar [g/L],temperature [degC]\n" + "\n".join(rows) + "\n", encoding="utf-8")
    page = tmp_path / "tank.html"
    code, out, _ = called(capsys, "forecast", str(log), "--json", "--picture", str(page))
    data = json.loads(out)
    assert code == 0
    assert data["low"] < data["hours"] < data["high"]
    assert data["readings"] == 6
    assert "<svg" in page.read_text(encoding="utf-8")
    code, out, _ = called(capsys, "forecast", str(log))
    assert code == 0
    assert "days after pitching" in out


def test_a_log_that_cannot_be_read_is_named(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    log = tmp_path / "tank.csv"
    log.write_text("time [h],sugar [g/L]\n0,195\nx,190\n", encoding="utf-8")
    code, out, err = called(capsys, "forecast", str(log))
    assert code == 1
    assert "temperature" in out + err
    assert called(capsys, "forecast", str(tmp_path / "none.csv"))[0] in (1, 2)
