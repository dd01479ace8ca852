"""Draws charts in a process of its own, beside other work: the drawing engine is as large as a simulation.

The process may be begun long before the last chart is known, so that it has started, and has drawn what is known
already, by the time the last one comes.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from pathlib import Path
from types import TracebackType
from typing import Any

from linewright.report.chart import Spec

PATIENCE = 120.0
"""Seconds after which the process is given up, and charts are drawn here."""


class Pen:
    """Draws charts in the order in which they are handed over; a context, at whose end the process ends.

    Where no process can be begun, or it fails, charts are drawn here when they are asked for.
    """

    def __init__(self) -> None:
        self._asked: dict[str, Future[str]] = {}
        self._hand = ThreadPoolExecutor(1)
        self._process: subprocess.Popen[str] | None = None
        if sys.executable:
            command = [sys.executable, str(Path(__file__).with_name("draw_apart.py"))]
            pipes: dict[str, Any] = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.DEVNULL}
            try:
                self._process = subprocess.Popen(command, **pipes, encoding="utf-8")
            except OSError:
                self._process = None

    def __enter__(self) -> Pen:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, wrong: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._process is not None:
            self._process.kill()  # it keeps nothing
        self._hand.shutdown(cancel_futures=True)
        if self._process is not None:
            self._process.__exit__(None, None, None)

    def draw(self, specs: Iterable[Spec]) -> None:
        """Begin to draw charts; one that was handed over before is drawn once."""
        for spec in specs:
            self._begin("spec", spec)

    def picture(self, spec: Spec) -> str:
        """The chart as SVG text."""
        made = self._made("spec", spec)
        if made is not None:
            return made
        import vl_convert

        return str(vl_convert.vegalite_to_svg(spec))

    def library(self, lines: str) -> str:
        """The charting library with a few lines of ours, as one text."""
        made = self._made("bundle", lines)
        if made is not None:
            return made
        import vl_convert

        return str(vl_convert.javascript_bundle(lines))

    def _begin(self, kind: str, what: Any) -> Future[str]:
        text = json.dumps({kind: what})
        if text not in self._asked:
            self._asked[text] = self._hand.submit(self._ask, text)
        return self._asked[text]

    def _made(self, kind: str, what: Any) -> str | None:
        """What the process made of it; None where it failed."""
        try:
            return self._begin(kind, what).result(PATIENCE)
        except (OSError, ValueError, TimeoutError, CancelledError):
            return None

    def _ask(self, text: str) -> str:
        if self._process is None or self._process.stdin is None or self._process.stdout is None:
            raise OSError("there is no process")
        self._process.stdin.write(f"{text}\n")
        self._process.stdin.flush()
        return str(json.loads(self._process.stdout.readline()))
