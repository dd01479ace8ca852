"""The papers: PDFs that can be read aloud and searched, are always the same, and take a plan's words as words only."""

from __future__ import annotations

import importlib.util
import io
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from linewright.answer import answer
from linewright.answer.ask_balance import share_out
from linewright.answer.model import Answer
from linewright.answer.posts import full_load, posts
from linewright.answer.sources import sources
from linewright.base.cautions import DEFER
from linewright.base.problems import ProblemsError
from linewright.base.results import Table
from linewright.plan import read_plan
from linewright.report.blocks import Grid
from linewright.report.papers import paper, press, report_pdf, sheets, sheets_html, sheets_pdf
from linewright.report.papers.pictures import for_paper

missing = [name for name in ("typst", "fontpkg_fira_sans", "pypdf") if importlib.util.find_spec(name) is None]
needs_papers = pytest.mark.skipif(bool(missing), reason=f"PDF needs the extra papers: {missing} missing")

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
HOSTILE = '#read("/etc/passwd") <b>&amp; $x$ @ref *bold* \\ "q" #import "common.typ" // end'


def reader(data: bytes) -> Any:
    import pypdf

    return pypdf.PdfReader(io.BytesIO(data))


def text_of(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in reader(data).pages)


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


def hostile(given: Answer) -> Answer:
    """The answer with every name of the plan made hostile."""
    plan = given.plan
    items = {key: replace(item, name=HOSTILE) for key, item in plan.items.items()}
    routes = {
        key: replace(route, operations=tuple(replace(o, name=HOSTILE, telling=HOSTILE) for o in route.operations))
        for key, route in plan.routes.items()
    }
    return replace(given, plan=replace(plan, name=HOSTILE, note=HOSTILE, items=items, routes=routes))


@needs_papers
class TestPdf:
    @pytest.mark.parametrize("make", [report_pdf, sheets_pdf])
    def test_tagged_titled_in_english_with_fonts_inside(self, given: Answer, make: Any) -> None:
        pdf = reader(make(given))
        root = pdf.trailer["/Root"]
        assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"].value
        assert "/StructTreeRoot" in root
        assert str(root["/Lang"]).startswith("en")
        assert given.plan.name in str(pdf.metadata.title)
        assert b"pdfuaid" in root["/Metadata"].get_data()
        fonts = [page["/Resources"]["/Font"] for page in pdf.pages if "/Font" in page["/Resources"]]
        assert fonts
        for font in (f.get_object() for group in fonts for f in group.values()):
            inner = font["/DescendantFonts"][0].get_object()["/FontDescriptor"]
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(inner)
        assert any("FiraSans" in str(f.get_object()["/BaseFont"]) for group in fonts for f in group.values())

    def test_the_answer_stands_first_and_every_question_follows(self, given: Answer) -> None:
        data = report_pdf(given)
        first = reader(data).pages[0].extract_text()
        assert given.plan.name in first
        assert "Yes" in first
        assert "Bottleneck" in first
        assert "What would help most" in first
        for question in ("How is it made?", "What does one cost?", "What can hurt someone?"):
            assert question in first
        said = text_of(data)
        assert squeezed(said).count(squeezed(DEFER)) == len(given.cautions)
        assert not re.search(r"\b(is|are) safe\b", said)

    @pytest.mark.parametrize("make", [report_pdf, sheets_pdf])
    def test_every_page_has_plan_fingerprint_and_its_number(self, given: Answer, make: Any) -> None:
        pages = reader(make(given)).pages
        for number, page in enumerate(pages, start=1):
            said = squeezed(page.extract_text())
            assert f"{number}of{len(pages)}" in said
            assert given.provenance.fingerprint[:16] in said
            assert squeezed(given.plan.name) in said

    @pytest.mark.parametrize("make", [report_pdf, sheets_pdf])
    def test_the_same_answer_gives_the_same_bytes(self, given: Answer, make: Any) -> None:
        assert make(given) == make(given)

    def test_sizes_of_paper(self, given: Answer) -> None:
        a4 = reader(report_pdf(given)).pages[0].mediabox
        letter = reader(report_pdf(given, "letter")).pages[0].mediabox
        assert [round(float(x)) for x in (a4.width, a4.height)] == [595, 842]
        assert [round(float(x)) for x in (letter.width, letter.height)] == [612, 792]
        with pytest.raises(ProblemsError, match="size of paper"):
            report_pdf(given, "a0")  # type: ignore[arg-type]

    def test_what_a_plan_says_is_only_text(self, given: Answer) -> None:
        bad = hostile(given)
        for data in (report_pdf(bad), sheets_pdf(bad, balanced=False)):
            said = text_of(data)
            assert squeezed('#read("/etc/passwd")') in squeezed(said)
            assert "root:" not in said
            assert squeezed("*bold*") in squeezed(said)

    def test_letters_that_no_font_has_are_no_failure(self, given: Answer) -> None:
        odd = replace(given, plan=replace(given.plan, name="Ωμέγα Привет 漢字 \U0001f6e0 \u0001 \ue000"))
        assert "Привет" in text_of(report_pdf(odd))

    def test_every_station_has_its_page(self, given: Answer) -> None:
        pages = reader(sheets_pdf(given)).pages
        made = sheets(given)
        assert len(pages) >= len(made)
        heads = [page.extract_text() for page in pages]
        for sheet in made:
            assert any(sheet.title in head for head in heads), sheet.title
            assert all(any(step.step.title in head for head in heads) for step in sheet.steps)

    def test_a_long_plan_stays_whole(self) -> None:
        boot = answer(read_plan(EXAMPLES / "boot.toml"))
        every = [o.name or o.id.replace("_", " ") for route in boot.plan.routes.values() for o in route.operations]
        assert len(every) >= 140
        for data in (report_pdf(boot), sheets_pdf(boot)):
            said = squeezed(text_of(data))
            assert [name for name in every if squeezed(name) not in said] == []
        # each sheet begins a page of its own
        heads = [squeezed(page.extract_text()) for page in reader(sheets_pdf(boot)).pages]
        made = sheets(boot)
        for number in range(1, len(made) + 1):
            assert sum(f"sheet{number}of{len(made)}" in head for head in heads) == 1


def test_a_missing_extra_is_said_with_what_to_do(given: Answer, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(press, "find_spec", lambda _: None)
    with pytest.raises(ProblemsError) as wrong:
        report_pdf(given)
    assert "linewright[papers]" in str(wrong.value)


def test_pictures_for_paper_need_no_style_variables() -> None:
    svg = '<svg><style>a{font-family:x,y;fill:var(--lw-ink,#1c2b2d)}</style><text font-family="Arial">x</text></svg>'
    made = for_paper(svg)
    assert "var(" not in made
    assert "Arial" not in made
    assert "#1c2b2d" in made


class TestSheets:
    def test_every_operation_is_on_a_sheet(self, given: Answer) -> None:
        told = [step.step.id for sheet in sheets(given) for step in sheet.steps]
        every = [o.id for route in given.plan.routes.values() for o in route.operations]
        assert sorted(set(told)) == sorted(every)

    def test_sheets_stand_in_order_of_work(self, given: Answer) -> None:
        first = [min(step.step.number for step in sheet.steps) for sheet in sheets(given)]
        assert first == sorted(first)

    def test_a_check_has_limits_and_a_reaction(self, given: Answer) -> None:
        checks = [s.step.check for sheet in sheets(given) for s in sheet.steps if s.step.check is not None]
        assert checks
        assert all(check.looks_for and check.often and check.reactions for check in checks)

    def test_only_the_sheets_asked_for(self, given: Answer) -> None:
        station = next(sheet for sheet in sheets(given) if sheet.id in given.plan.stations)
        assert [s.id for s in sheets(given, of=[station.id.upper()])] == [station.id]
        assert [s.id for s in sheets(given, of=[station.title])] == [station.id]
        with pytest.raises(ProblemsError, match="no sheet has this name") as wrong:
            sheets(given, of=["nowhere"])
        assert station.id in str(wrong.value)

    def test_cautions_are_those_of_the_place(self, given: Answer) -> None:
        named = {c.hazard for post in posts(given) for c in post.cautions}
        assert named == {c.hazard for c in given.cautions}
        for post in posts(given):
            here = {h for r in given.plan.routes.values() for o in r.operations if o.id in post.operations
                    for h in o.hazards}  # fmt: skip
            assert here <= {c.hazard for c in post.cautions}

    def test_the_page_needs_no_script_and_no_style_attribute(self, given: Answer) -> None:
        page = sheets_html(hostile(given))
        assert "<script" not in page
        assert not re.search(r"<[^>]*\sstyle=", page)
        assert not re.search(r"<[^>]*\son\w+=", page)
        assert "#read(&quot;/etc/passwd&quot;)" in page
        assert "default-src 'none'; style-src 'sha256-" in page
        linked = sheets_html(given, stylesheet="/static/sheets.css")
        assert "<style" not in linked
        assert 'href="/static/sheets.css"' in linked

    def test_the_page_says_what_the_paper_says(self, given: Answer) -> None:
        page = sheets_html(given)
        for sheet in sheets(given):
            assert sheet.title in page
        assert page.count(DEFER.replace("'", "&#x27;")) == sum(len(sheet.cautions) for sheet in sheets(given))
        assert page.count("Released for work by") == len(sheets(given))


def test_a_balanced_line_has_a_sheet_a_station() -> None:
    found = share_out(answer(read_plan(EXAMPLES / "trailer.toml")), seconds=0.5, play=False)
    assert found.balanced is not None
    line = found.balanced.lines[0]
    made = sheets(found)
    posts_of_line = [s for s in made if s.id.startswith(line.line.name)]
    assert [s.id for s in posts_of_line] == [f"{line.line.name} {k}" for k in range(1, line.balance.count + 1)]
    for sheet, post in zip(posts_of_line, line.posts, strict=True):
        assert [step.step.id for step in sheet.steps] == list(post.operations)
        assert dict(sheet.facts)["People"].startswith(f"{post.people} (")
        assert f"{100 * post.use:.0f} %" in dict(sheet.facts)["Work for one"]
    every = {o.id for route in found.plan.routes.values() for o in route.operations}
    assert {step.step.id for sheet in made for step in sheet.steps} == every
    as_planned = sheets(found, balanced=False)
    assert {step.step.id for sheet in as_planned for step in sheet.steps} == every
    assert not any(s.id.startswith(line.line.name) for s in as_planned)


def test_a_load_tells_what_a_whole_load_takes() -> None:
    cider = answer(read_plan(EXAMPLES / "cider.toml"))
    rows = cider.network.operations
    for route in cider.plan.routes.values():
        for operation in route.operations:
            whole = full_load(cider, operation.id)
            load = operation.load
            if load is None or load.most is None:
                continue
            at = rows.ids.index(operation.id)
            for item, (amount, unit) in whole.items():
                index, each = rows.takes.row(at)
                one = float(each[list(index).index(cider.network.items.ids.index(item))])
                assert amount == pytest.approx(one * load.most.value)
                assert unit == cider.network.items.units[cider.network.items.ids.index(item)]
    said = [part for sheet in sheets(cider) for step in sheet.steps for part in step.parts]
    assert any("for a full load" in more for _, _, more in said)


def test_where_the_numbers_came_from_is_told() -> None:
    trailer = answer(read_plan(EXAMPLES / "trailer.toml"))
    table = sources(trailer)
    said = " ".join(cell for row in table.rows for cell in row)
    assert trailer.provenance.fingerprint[:16] in said
    assert "the time study trailer_study.csv" in said
    cider = " ".join(cell for row in sources(answer(read_plan(EXAMPLES / "cider.toml"))).rows for cell in row)
    assert "the model of physics ferment" in cider


@needs_papers
def test_the_papers_of_every_example_have_a_page_a_sheet() -> None:
    for name in ("trailer", "cider", "reedboard", "hivekit", "boot"):
        found = answer(read_plan(EXAMPLES / f"{name}.toml"))
        made = sheets(found)
        # a place of more steps than a page holds goes on overleaf; every other has one page
        crowded = sum(1 for sheet in made if len(sheet.steps) > 12)
        assert len(made) <= len(reader(sheets_pdf(found)).pages) <= len(made) + crowded, name
        assert name == "boot" or crowded == 0


def test_a_table_wider_than_the_page_becomes_several() -> None:
    """Each has the first column; together they have every column once, and none is wider than a page."""
    columns = ("week of", *(f"must of kind {k} waiting" for k in range(20)))
    wide = Table("The weeks", columns, tuple((f"2026-09-{d:02}", *range(20)) for d in range(1, 8)), "At most.")
    pieces = [piece for piece in paper.pieces(Grid(wide)) if isinstance(piece, Grid)]
    assert len(pieces) > 1
    assert all(piece.table.columns[0] == "week of" for piece in pieces)
    assert [column for piece in pieces for column in piece.table.columns[1:]] == list(columns[1:])
    assert [piece.table.note for piece in pieces] == [""] * (len(pieces) - 1) + ["At most."]
    assert all(paper.pieces(piece) == [piece] for piece in pieces)
    narrow = Grid(Table("Few", ("a", "b"), ((1, 2),)))
    assert paper.pieces(narrow) == [narrow]
