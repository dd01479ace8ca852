"""docs/pages.md says what the code does."""

from __future__ import annotations

import re
from pathlib import Path

from linewright.base.packed import LARGEST_UNPACKED
from linewright.pages import limits, printed, serve
from linewright.pages.api import ROUTES
from linewright.pages.run_api import ROUTES as RUN_ROUTES

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "pages.md").read_text(encoding="utf-8")


def test_the_limits_are_those_of_the_code() -> None:
    rows = dict(re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", PAGE.partition("## Limits")[2], re.MULTILINE))
    assert rows == {
        "what": "at most",
        "text of a plan": f"{limits.LARGEST_TEXT // 1_000_000} MB",
        "checking, and editing": f"{limits.CHECK_SECONDS:.0f} s",
        "an answer": f"{limits.ANSWER_SECONDS:.0f} s",
        "a paper": f"{limits.PAPER_SECONDS:.0f} s",
        "a run": f"{limits.LONGEST_RUN:.0f} s",
        "memory of each process (Linux)": f"{limits.MEMORY // 1_000_000:,} MB",
        "runs at once; waiting": f"{limits.RUNS_AT_ONCE}; {limits.RUNS_WAITING}",
        "a spreadsheet, unpacked": f"{LARGEST_UNPACKED // 1_000_000} MB",
        "versions of a plan": str(limits.MOST_VERSIONS),
        "plans of a folder": str(limits.MOST_PLANS),
    }


def test_the_other_numbers_too() -> None:
    assert f"first free port from {serve.PORT} on" in PAGE
    assert f"up to {limits.DEEPEST_FOLDER} folders deep" in PAGE
    assert f"simulated for {printed.PLAYED:.0f} seconds" in PAGE


def test_every_address_of_the_interface_is_there() -> None:
    served = {re.sub(r"\{(\w+)(:path)?\}", lambda m: m[1].upper(), route.path) for route in [*ROUTES, *RUN_ROUTES]}  # type: ignore[attr-defined]
    for named in re.findall(r"(/api/[\w/]+)", PAGE):
        assert named in served or named == "/api/", named
