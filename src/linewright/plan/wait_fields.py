"""The table ``wait`` of an operation: how long it may, and must, be since an earlier operation ended."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linewright.plan.check_fields import REACTION_FORM, SCRAP
from linewright.plan.durations import SOME_TIME
from linewright.plan.many import Ref
from linewright.plan.operation_model import Wait
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field, Record


def _wait(values: dict[str, Any], table: Mapping[str, Any], path: str, reading: Reading) -> Any:
    least, most = values.get("least"), values.get("most")
    if "least" not in table and "most" not in table:
        return reading.error(path, "a window needs `least`, `most` or both", table, 'most = "40 min"')
    if ("least" in table and least is None) or ("most" in table and most is None):
        return FAILED
    if least is not None and most is not None and least.value > most.value:
        what = "the window closes before it opens"
        return reading.error(path, what, f"{least.text}, {most.text}", "`least` no longer than `most`")
    if "else" in table and "most" not in table:
        return reading.error(f"{path}.else", "nothing ever closes this window", table["else"], "`most` beside `else`")
    values.setdefault("otherwise", SCRAP)
    return Wait(**values)


WAIT = Record(
    "a window",
    (
        Field("after", Ref("operations"), "the earlier operation of the route at whose end the clock starts",
              required=True, example='"glue"'),
        Field("least", SOME_TIME, "not begun sooner: flash-off, setting", example='"20 min"'),
        Field("most", SOME_TIME, "not begun later: open time", example='"40 min"'),
        Field("else", REACTION_FORM, "what happens to a piece when the window closes; scrap where none is written",
              attribute="otherwise", example='{ rework = "glue", at_most = 1, else = "scrap" }'),
    ),
    _wait,
)  # fmt: skip
"""Fields of ``wait``."""
