"""Routes from tables: CSV files and spreadsheets, with everything that goes wrong in them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from linewright.base.problems import Problem, ProblemsError
from linewright.plan import Plan, check_plan, import_table, read_plan

HEAD = ["id", "name", "station", "crew.fitter", "time", "takes.tub", "takes.adhesive", "faults.seam gap", "hazards"]
ROWS: list[list[Any]] = [
    ["glue", "Run adhesive", "bond_frame", 1, "5 min", 1, "0.42 kg", "2 %", "solvent vapour, pinch point"],
    [20, "Cure", "bond_frame", None, '{ mean = "9 min", cv = 0.1 }', None, None, None, None],
]


def plan_text(text: str, source: str) -> str:
    """The cart with the operations of its route elsewhere."""
    head, _, _ = text.partition("[[routes.cart.operations]]")
    return head.replace('gives = "cart"', f'gives = "cart"\noperations = {source}')


def book(path: Path, rows: list[list[Any]], sheet: str = "route") -> Path:
    workbook = openpyxl.Workbook()
    page = workbook.active
    assert page is not None
    page.title = sheet
    for row in rows:
        page.append(row)
    workbook.save(path)
    return path


def csv_text(rows: list[list[Any]], mark: str = ",") -> str:
    def cell(value: Any) -> str:
        text = "" if value is None else str(value)
        return '"' + text.replace('"', '""') + '"'

    return "\n".join(mark.join(cell(c) for c in row) for row in rows)


@pytest.fixture
def inline(text: str, tmp_path: Path) -> Plan:
    file = tmp_path / "inline.toml"
    operations = """
[[routes.cart.operations]]
id = "glue"
name = "Run adhesive"
station = "bond_frame"
crew = { fitter = 1 }
time = "5 min"
takes = { tub = 1, adhesive = "0.42 kg" }
faults = { "seam gap" = "2 %" }
hazards = ["solvent vapour", "pinch point"]
[[routes.cart.operations]]
id = "20"
name = "Cure"
station = "bond_frame"
time = { mean = "9 min", cv = 0.1 }
"""
    file.write_text(text.partition("[[routes.cart.operations]]")[0] + operations)
    return read_plan(file)


def with_book(text: str, folder: Path, rows: list[list[Any]]) -> tuple[Plan | None, list[Problem]]:
    book(folder / "cart.xlsx", rows)
    file = folder / "cart.toml"
    file.write_text(plan_text(text, '{ table = "cart.xlsx", sheet = "route" }'))
    plan, problems = check_plan(file)
    return plan, list(problems)


def with_csv(text: str, folder: Path, table: str) -> tuple[Plan | None, list[Problem]]:
    (folder / "cart.csv").write_text(table, encoding="utf-8")
    file = folder / "cart.toml"
    file.write_text(plan_text(text, '{ table = "cart.csv" }'))
    plan, problems = check_plan(file)
    return plan, list(problems)


def test_spreadsheet_says_the_same_as_the_plan(text: str, tmp_path: Path, inline: Plan) -> None:
    plan, problems = with_book(text, tmp_path, [HEAD, *ROWS])
    assert problems == []
    assert plan == inline
    assert plan is not None
    assert plan.fingerprint == inline.fingerprint


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_csv_says_the_same_as_the_plan(text: str, tmp_path: Path, inline: Plan, mark: str) -> None:
    plan, problems = with_csv(text, tmp_path, csv_text([HEAD, *ROWS], mark))
    assert problems == []
    assert plan == inline


def test_csv_with_a_mark_of_its_encoding(text: str, tmp_path: Path, inline: Plan) -> None:
    plan, problems = with_csv(text, tmp_path, "\ufeff" + csv_text([HEAD, *ROWS]))
    assert problems == []
    assert plan == inline


def test_title_and_empty_rows_are_passed_over(text: str, tmp_path: Path, inline: Plan) -> None:
    rows = [["Route of the cart"], [], HEAD, [], ROWS[0], [None, "  "], ROWS[1], []]
    plan, problems = with_book(text, tmp_path, rows)
    assert problems == []
    assert plan == inline


def test_problem_names_the_row_of_the_table(text: str, tmp_path: Path) -> None:
    wrong = [*ROWS[0]]
    wrong[4] = "5 kg"
    _, problems = with_book(text, tmp_path, [HEAD, [], wrong, ROWS[1]])
    (problem,) = problems
    assert problem.path == "routes.cart.operations[glue].time"
    assert problem.file == str(tmp_path / "cart.xlsx")
    assert problem.line == 3
    assert '"5 kg" is a mass' in problem.what


def test_missing_column(text: str, tmp_path: Path) -> None:
    _, problems = with_book(text, tmp_path, [HEAD[1:], *[row[1:] for row in ROWS]])
    assert 'no column "id"' in problems[0].what
    assert problems[0].line == 1


def test_missing_column_of_time_is_a_warning(text: str, tmp_path: Path) -> None:
    _, problems = with_book(text, tmp_path, [["id"], ["glue"]])
    assert any("takes no time" in p.what for p in problems)


def test_unknown_column(text: str, tmp_path: Path) -> None:
    _, problems = with_book(text, tmp_path, [[*HEAD, "tmie"], *ROWS])
    (problem,) = problems
    assert 'no field of an operation is called "tmie"' in problem.what
    assert problem.hint == 'did you mean "time"?'


def test_duplicate_header(text: str, tmp_path: Path) -> None:
    _, problems = with_csv(text, tmp_path, csv_text([[*HEAD, "time"], *ROWS]))
    assert any(p.what == 'two columns are called "time"' and p.line == 1 for p in problems)


def test_merged_cells(text: str, tmp_path: Path) -> None:
    path = book(tmp_path / "cart.xlsx", [HEAD, *ROWS, [None, "more of the cure"]])
    workbook = openpyxl.load_workbook(path)
    workbook["route"].merge_cells("A3:A4")
    workbook.save(path)
    file = tmp_path / "cart.toml"
    file.write_text(plan_text(text, '{ table = "cart.xlsx", sheet = "route" }'))
    _, problems = check_plan(file)
    (problem,) = problems
    assert problem.what == "this row has no id"
    assert "merged" in str(problem.hint)
    assert problem.line == 4


def test_formula_is_not_evaluated(text: str, tmp_path: Path) -> None:
    wrong = [*ROWS[0]]
    wrong[5] = "=1+1"
    _, problems = with_book(text, tmp_path, [HEAD, wrong, ROWS[1]])
    (problem,) = problems
    assert problem.what == 'column "takes.tub" holds a formula'
    assert problem.value == "=1+1"
    assert problem.line == 2


def test_error_of_the_spreadsheet_and_a_date(text: str, tmp_path: Path) -> None:
    import datetime

    wrong = [*ROWS[0]]
    wrong[5], wrong[6] = "#REF!", datetime.datetime(2026, 3, 1)
    _, problems = with_book(text, tmp_path, [HEAD, wrong, ROWS[1]])
    assert [p.what for p in problems] == [
        'column "takes.tub" holds an error of the spreadsheet',
        'column "takes.adhesive" holds a datetime',
    ]


def test_cell_that_is_half_a_table(text: str, tmp_path: Path) -> None:
    wrong = [*ROWS[1]]
    wrong[4] = "{ mean = 9 min }"
    _, problems = with_book(text, tmp_path, [HEAD, ROWS[0], wrong])
    assert 'column "time" is neither text nor a table' in problems[0].what


def test_column_inside_a_field_that_has_its_own(text: str, tmp_path: Path) -> None:
    rows = [["id", "time", "time.mean"], ["glue", "5 min", "4 min"]]
    _, problems = with_book(text, tmp_path, rows)
    assert any('goes into "time", which has a cell of its own' in p.what for p in problems)


def test_percent_of_a_spreadsheet_is_a_share(text: str, tmp_path: Path, inline: Plan) -> None:
    wrong = [*ROWS[0]]
    wrong[7] = 0.02
    plan, problems = with_book(text, tmp_path, [HEAD, wrong, ROWS[1]])
    assert problems == []
    assert plan == inline


def test_unknown_sheet(text: str, tmp_path: Path) -> None:
    book(tmp_path / "cart.xlsx", [HEAD, *ROWS], sheet="rout")
    file = tmp_path / "cart.toml"
    file.write_text(plan_text(text, '{ table = "cart.xlsx", sheet = "route" }'))
    problem = next(iter(check_plan(file)[1]))
    assert problem.path == "routes.cart.operations"
    assert 'no sheet "route"' in problem.what
    assert problem.hint == 'did you mean "rout"?'


@pytest.mark.parametrize(
    ("source", "what"),
    [
        ('{ table = "none.csv" }', "cannot be read"),
        ('{ table = "../none.xlsx" }', "cannot be read"),
        ('{ table = "cart.ods" }', "of a kind not known here"),
        ("{ sheet = 'route' }", "does not name a table"),
        ("{ table = 3 }", "does not name a table"),
        ('{ table = "cart.csv", row = 3 }', "does not name a table"),
    ],
)
def test_table_of_no_use(text: str, tmp_path: Path, source: str, what: str) -> None:
    file = tmp_path / "cart.toml"
    file.write_text(plan_text(text, source))
    plan, problems = check_plan(file)
    assert plan is None
    problem = next(iter(problems))
    assert problem.path == "routes.cart.operations"
    assert problem.line is not None
    assert what in problem.what


def test_table_in_a_folder_above_is_fine(text: str, tmp_path: Path, inline: Plan) -> None:
    book(tmp_path / "cart.xlsx", [HEAD, *ROWS])
    (tmp_path / "plans").mkdir()
    file = tmp_path / "plans" / "cart.toml"
    file.write_text(plan_text(text, '{ table = "../cart.xlsx" }'))
    assert read_plan(file) == inline


@pytest.mark.parametrize("data", [b"", b"\x00\x01binary", b"PK\x03\x04 not a zip", b"id\n\xff\xfe"])
@pytest.mark.parametrize("name", ["cart.xlsx", "cart.csv"])
def test_file_that_is_no_table(text: str, tmp_path: Path, name: str, data: bytes) -> None:
    (tmp_path / name).write_bytes(data)
    file = tmp_path / "cart.toml"
    file.write_text(plan_text(text, f'{{ table = "{name}" }}'))
    plan, problems = check_plan(file)
    assert plan is None
    assert any(p.path == "routes.cart.operations" for p in problems)


def test_import_makes_a_sound_plan(tmp_path: Path) -> None:
    source = book(tmp_path / "cart.xlsx", [HEAD, *ROWS])
    file = tmp_path / "cart.toml"
    file.write_text(import_table(source), encoding="utf-8")
    plan, problems = check_plan(file)
    assert list(problems) == []
    assert plan is not None
    assert [o.id for o in plan.routes["cart"].operations] == ["glue", "20"]
    assert plan.items["adhesive"].unit == "kg"
    assert "to be completed" in file.read_text()


def test_import_of_no_table(tmp_path: Path) -> None:
    with pytest.raises(ProblemsError, match="cannot be read"):
        import_table(tmp_path / "none.csv")


def test_long_route_of_145_rows(text: str, tmp_path: Path) -> None:
    rows = [HEAD, *([f"step{k}", f"Step {k}", "bond_frame", 1, "40 s", 1, "1 g", None, None] for k in range(145))]
    plan, problems = with_book(text, tmp_path, rows)
    assert problems == []
    assert plan is not None
    assert len(plan.routes["cart"].operations) == 145


def test_name_that_no_file_can_have(text: str, tmp_path: Path) -> None:
    file = tmp_path / "cart.toml"
    file.write_text(plan_text(text, '{ table = "a\\u0000b.csv" }'))
    assert any("cannot be read" in p.what for p in check_plan(file)[1])
    plan, problems = check_plan("a\0b.toml")
    assert plan is None
    assert "cannot be read" in next(iter(problems)).what


def test_spreadsheet_with_broken_insides(text: str, tmp_path: Path) -> None:
    """A zip with a sheet cut off in the middle is refused like any other file that is no spreadsheet."""
    import zipfile

    path = book(tmp_path / "cart.xlsx", [HEAD, *ROWS])
    with zipfile.ZipFile(path) as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    for name, data in parts.items():
        with zipfile.ZipFile(path, "w") as packed:
            for other, whole in parts.items():
                packed.writestr(other, data[: len(data) // 2] if other == name else whole)
        file = tmp_path / "cart.toml"
        file.write_text(plan_text(text, '{ table = "cart.xlsx" }'))
        plan, problems = check_plan(file)
        assert plan is not None or problems.errors


def test_spreadsheet_that_unpacks_to_too_much(text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("linewright.base.packed.LARGEST_UNPACKED", 1000)
    _, problems = with_book(text, tmp_path, [HEAD, *ROWS])
    assert "unpacks to more than" in problems[0].what


def test_a_cell_may_hold_the_name_of_a_crew(text: str, tmp_path: Path) -> None:
    rows = [["id", "crew", "time"], ["glue", "fitter", "5 min"], ["clean", "{ fitter = 2 }", "1 min"]]
    plan, _ = with_csv(text, tmp_path, csv_text(rows))
    assert plan is not None
    assert [o.crew for o in plan.routes["cart"].operations] == [{"fitter": 1.0}, {"fitter": 2.0}]
