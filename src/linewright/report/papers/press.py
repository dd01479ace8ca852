"""Sets one of our templates with the data of an answer and gives the PDF: offline, tagged (PDF/UA-1), always the same.

A template is a file of ours; what a plan says reaches it as one JSON text and never as source, so nothing in a plan is
ever run. The templates' folder is all that the setter may read.
"""

from __future__ import annotations

import json
import re
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Literal, get_args

from linewright.base.problems import Problem, ProblemsError

Format = Literal["a4", "letter"]
"""The sizes of paper: ISO 216 A4 and North American letter."""

FONT = "Fira Sans"
UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
"""Signs that XML does not allow (W3C, XML 1.0, 2.2), and delete."""
_KEPT = re.compile(r"(?<=\d) (?=%|(?:mm|cm|m2|m3|m|g|kg|t|mL|L|s|min|h|kW|kWh|mbar|bar|EUR)(?!\w))")
_FONTS = "fontpkg_fira_sans"
_HERE = Path(__file__).parent
_PAPER: dict[Format, str] = {"a4": "a4", "letter": "us-letter"}


def print_pdf(template: str, data: dict[str, Any], size: Format = "a4") -> bytes:
    """The template (``report.typ``) set with ``data`` as a PDF.

    The same data gives the same bytes: no time of day is in them. Letters that our font lacks are taken from the fonts
    of the machine; where those lack them too the PDF shows an empty box and does not claim the standard.
    Raises ProblemsError where the extra ``papers`` is missing or the size is not known.
    """
    made = _set(template, data, size, "pdf")
    assert isinstance(made, bytes)
    return made


def print_png(template: str, data: dict[str, Any], size: Format = "a4", dots: float = 96.0) -> list[bytes]:
    """The same as one PNG picture a page, at so many dots an inch."""
    made = _set(template, data, size, "png", dots)
    return [made] if isinstance(made, bytes) else made


def need_papers() -> None:
    """Raise ProblemsError where the extra ``papers`` is missing."""
    missing = [name for name in ("typst", _FONTS) if find_spec(name) is None]
    if missing:
        hint = 'pip install "linewright[papers]"'
        raise ProblemsError([Problem("", 'a PDF needs the extra "papers", which is not installed', hint=hint)])


def _set(
    template: str, data: dict[str, Any], size: Format, form: Literal["pdf", "png"], dots: float = 96.0
) -> bytes | list[bytes]:
    need_papers()
    if size not in get_args(Format):
        raise ProblemsError([Problem("", "this size of paper is not known", value=size, expected="a4 or letter")])
    import typst

    given = {**data, "paper": _PAPER[size], "font": FONT}
    text = json.dumps(_printable(given), ensure_ascii=False, allow_nan=False)
    attempts = ((False, True), (True, True), (True, False))
    for at, (system, accessible) in enumerate(attempts, start=1):
        compiler = typst.Compiler(
            str(_HERE / template), root=str(_HERE), font_paths=_fonts(system), sys_inputs={"data": text}
        )
        try:
            made = compiler.compile(format=form, ppi=dots, pdf_standards="ua-1" if accessible else [], timestamp=0)
        except typst.TypstError as wrong:
            if at == len(attempts) or "could not be displayed" not in wrong.message:
                raise
            continue
        assert made is not None
        return made
    raise AssertionError("the last attempt returns or raises")


def _printable(data: Any) -> Any:
    """The data without signs that no page or picture may hold, and with numbers kept on a line with their unit."""
    if isinstance(data, str):
        return _KEPT.sub("\u00a0", UNPRINTABLE.sub("", data))
    if isinstance(data, list):
        return [_printable(value) for value in data]
    if isinstance(data, dict):
        return {key: _printable(value) for key, value in data.items()}
    return data


@lru_cache(maxsize=2)
def _fonts(system: bool) -> Any:
    """Our font and those inside the setter; with ``system`` those of the machine as well."""
    import typst

    return typst.Fonts(include_system_fonts=system, include_embedded_fonts=True, font_paths=[str(font_folder())])


def font_folder() -> Path:
    """Where the files of our font are."""
    found = find_spec(_FONTS)
    assert found is not None
    assert found.origin is not None
    return Path(found.origin).parent / "files"
