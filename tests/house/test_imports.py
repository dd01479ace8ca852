"""The design's one direction of imports, held by reading the source."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

SOURCE = Path(__file__).resolve().parents[2] / "src" / "linewright"

# Each package may import from the packages named, itself, and no other.
FORMULAS = {"worktime", "physics", "quality", "lots", "cutting"}
ALLOWED: dict[str, set[str]] = {
    "base": set(),
    "worktime": {"base"},
    "physics": {"base"},
    "quality": {"base"},
    "lots": {"base"},
    "cutting": {"base"},
    "plan": {"base", *FORMULAS},
    "network": {"base", *FORMULAS, "plan"},
    "flow": {"base", "plan", "network"},
    "capacity": {"base", "plan", "network", "flow"},
    "cost": {"base", "lots", "plan", "network", "flow", "capacity"},
    "balance": {"base", *FORMULAS, "plan", "network"},
    "simulate": {"base", *FORMULAS, "plan", "network"},
    "improve": {"base", *FORMULAS, "plan", "network", "flow", "capacity", "cost", "balance", "simulate"},
}
ALLOWED["season"] = ALLOWED["improve"]
ALLOWED["answer"] = set(ALLOWED) | {"base"}
ALLOWED["report"] = {*ALLOWED["answer"], "answer"}
ALLOWED["pages"] = {*ALLOWED["report"], "report"}
ALLOWED["cli"] = {*ALLOWED["pages"], "pages"}


def imported(path: Path) -> set[tuple[int, str]]:
    """(line, package) of every import of one of our packages in a file, lazy ones inside functions included."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno} imports relatively"
            names = [
                f"{node.module}.{alias.name}" if node.module == "linewright" else node.module for alias in node.names
            ]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        else:
            continue
        for name in names:
            parts = (name or "").split(".")
            if parts[0] == "linewright" and len(parts) > 1 and parts[1] in ALLOWED:
                found.add((node.lineno, parts[1]))
    return found


def test_every_package_has_a_rule() -> None:
    packages = {p.name for p in SOURCE.iterdir() if p.is_dir() and not p.name.startswith("__")}
    assert packages <= set(ALLOWED)


@pytest.mark.parametrize("package", sorted(ALLOWED))
def test_imports_run_one_way(package: str) -> None:
    wrong = [
        f"{path.relative_to(SOURCE)}:{line} imports {other}"
        for path in sorted((SOURCE / package).rglob("*.py"))
        for line, other in sorted(imported(path))
        if other != package and other not in ALLOWED[package]
    ]
    assert not wrong, "\n".join(wrong)
