"""docs/python.md: its blocks run in order, and print what the page says."""

from __future__ import annotations

import contextlib
import io
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TEXT = (ROOT / "docs" / "python.md").read_text(encoding="utf-8")


def test_the_blocks_print_what_the_page_says(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("polars")
    monkeypatch.chdir(ROOT)
    blocks = re.findall(r"```python\n(.*?)```\n(?:\n```\n(.*?)```)?", TEXT, flags=re.S)
    assert len(blocks) >= 5
    names: dict[str, object] = {}
    for code, said in blocks:
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            exec(compile(code, "docs/python.md", "exec"), names)
        if said:
            assert out.getvalue() == said
