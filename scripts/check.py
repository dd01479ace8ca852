"""Everything CI runs, in one command: style, types, doctests and all tests. Run by ``make test``.

Each step prints its name and how long it took; all steps run even where one fails, so that one run shows everything.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PYTHON = sys.executable

CODE = ["src", "tests", "scripts", "benchmarks"]
STEPS: list[tuple[str, list[str], dict[str, str]]] = [
    ("style", [PYTHON, "-m", "ruff", "check", *CODE], {}),
    ("format", [PYTHON, "-m", "ruff", "format", "--check", "--quiet", *CODE], {}),
    ("types", [PYTHON, "-m", "mypy"], {}),
    (
        "doctests and tests",
        [PYTHON, "-m", "pytest", "-q", "-n", "2", "--dist", "worksteal", "--doctest-modules", "src", "tests"],
        {},
    ),
]


def main() -> int:
    """Run every step; the exit status is 0 only where all passed."""
    failed = []
    for name, command, extra in STEPS:
        print(f"== {name}", flush=True)
        begun = time.perf_counter()
        status = subprocess.run(command, cwd=ROOT, env={**os.environ, **extra}, check=False).returncode
        print(
            f"== {name}: {'passed' if status == 0 else 'FAILED'} in {time.perf_counter() - begun:.0f} s",
            flush=True,
        )
        if status != 0:
            failed.append(name)
    if failed:
        print(f"failed: {', '.join(failed)}")
        return 1
    print("all passed")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
