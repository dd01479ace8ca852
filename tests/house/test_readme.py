"""README.md: its numbers are the tool's, its links lead somewhere, and its snippet of a plan is a plan."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_numbers_are_current() -> None:
    spec = importlib.util.spec_from_file_location("readme_script", ROOT / "scripts" / "readme.py")
    assert spec is not None
    assert spec.loader is not None
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    assert script.written(README) == README, "run: python scripts/readme.py"


def test_a_number_stands_within_the_first_ten_lines() -> None:
    assert re.search(r"\d", "\n".join(README.splitlines()[:10]))


def test_every_link_leads_somewhere() -> None:
    for page in [ROOT / "README.md", *(ROOT / "docs").glob("*.md"), ROOT / "examples" / "README.md"]:
        for target in re.findall(r"\]\(([^)#]+)\)", page.read_text(encoding="utf-8")):
            assert "://" not in target, f"{page.name} links outside: {target}"
            assert (page.parent / target).exists(), f"{page.name}: {target} is not there"


def test_every_command_has_its_place_in_the_readme() -> None:
    commands = {p.stem.rstrip("_") for p in (ROOT / "src/linewright/cli/commands").glob("[!_]*.py")}
    missing = {c for c in commands if not re.search(rf"\b{c}\b", README)}
    assert not missing, f"README.md does not name {sorted(missing)}"
