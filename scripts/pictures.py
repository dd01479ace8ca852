"""Makes the pictures of README.md and docs from the first example: map, terminal answer, report, papers.

Run: make pictures (needs chromium for the report's picture)
"""

from __future__ import annotations

import importlib
import io
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import page_pictures
from rich.console import Console

from linewright.answer import Wish, answer, simulate_plan
from linewright.answer.ask_balance import share_out
from linewright.answer.model import Answer
from linewright.plan import read_plan
from linewright.report.charts import charts
from linewright.report.html import write_html
from linewright.report.papers.paper import report_pictures
from linewright.report.papers.sheets_pdf import sheets_pictures
from linewright.report.terminal import print_answer

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "docs" / "pictures"
CHROMIUM = [
    "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--hide-scrollbars", "--window-size=1366,900",
]  # fmt: skip


def main() -> None:
    """Write all pictures."""
    PICTURES.mkdir(exist_ok=True)
    found = answer(read_plan(ROOT / "examples" / "trailer.toml"), simulate=True, budget_seconds=20)
    console = Console(record=True, width=96, file=io.StringIO())
    print_answer(found, console=console)
    head = console.export_text().split("What limits the rate")[0]
    short = Console(record=True, width=96, file=io.StringIO())
    short.print(head, highlight=False, markup=False)
    drawn = short.export_svg(title="linewright answer examples/trailer.toml")
    drawn = re.sub(r",?\s*url\([^)]*\)\s*format\([^)]*\)", "", drawn)  # no font from the network
    drawn = re.sub(r"<!--.*?-->", "", drawn)
    (PICTURES / "answer.svg").write_text(drawn, encoding="utf-8")
    _map()
    papers(found)
    season()
    page_pictures.take_all()
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "trailer.html"
        write_html(found, page, live=False)
        browser = shutil.which("chromium")
        assert browser is not None, "the report's picture needs chromium"
        subprocess.run(
            [
                browser,
                *CHROMIUM,
                f"--user-data-dir={folder}/profile",
                f"--screenshot={PICTURES / 'report.png'}",
                page.as_uri(),
            ],
            check=True,
            capture_output=True,
        )


def season() -> None:
    """The weeks of the harvest, as the report draws them."""
    played = simulate_plan(read_plan(ROOT / "examples" / "harvest.toml"), Wish(replications=8))
    drawn = charts(played)["season"]
    drawer: Any = importlib.import_module("vl_convert")
    (PICTURES / "season.svg").write_text(drawer.vegalite_to_svg(drawn.spec), encoding="utf-8")


def papers(found: Answer) -> None:
    """Pages of the report and of the sheets, side by side."""
    shared = share_out(found, seconds=2, play=False)
    report, sheets = report_pictures(shared, dots=110), sheets_pictures(shared, dots=110)
    _side_by_side("report_pages.png", [report[k] for k in (0, 1, 7)])
    _side_by_side("sheets.png", [sheets[k] for k in (3, 4, len(sheets) - 2)])


def _side_by_side(name: str, pages: list[bytes]) -> None:
    import typst

    with tempfile.TemporaryDirectory() as folder:
        for k, page in enumerate(pages):
            (Path(folder) / f"{k}.png").write_bytes(page)
        images = ", ".join(f'rect(inset: 0pt, stroke: 0.5pt + gray, image("{k}.png"))' for k in range(len(pages)))
        source = (
            f"#set page(width: 1000pt, height: auto, margin: 8pt, fill: rgb(239, 238, 231))\n"
            f"#grid(columns: {len(pages)}, gutter: 10pt, {images})"
        )
        (Path(folder) / "row.typ").write_text(source, encoding="utf-8")
        typst.compile(Path(folder) / "row.typ", output=PICTURES / name, format="png", ppi=110)


def _map() -> None:
    command = str(Path(sys.executable).with_name("linewright"))
    to = str(PICTURES / "map.svg")
    subprocess.run([command, "report", "examples/trailer.toml", "--map", "--to", to], cwd=ROOT, check=True)


if __name__ == "__main__":
    main()
