"""Every way to go wrong gives a problem with file, line, path, value, expectation and hint; never a traceback."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from linewright.base.problems import Level, Problem, ProblemsError
from linewright.plan import check_plan, read_plan


def only(problems: list[Problem]) -> Problem:
    assert len(problems) == 1, "\n".join(map(str, problems))
    return problems[0]


def test_the_plan_that_the_tests_break_is_sound(check: Any) -> None:
    plan, problems = check()
    assert plan is not None
    assert problems == []


OPERATIONS = "routes.cart.operations"
CASES: list[tuple[str, tuple[str, str], str, str, str | None, str | None]] = [
    # name, (old, new), path, part of what, part of expected, part of hint; the line is that of `new`
    (
        "unknown field",
        ('wage = "27 EUR/h"', 'wages = "27 EUR/h"'),
        "crews.fitter.wages",
        "a crew has no field `wages`",
        None,
        'did you mean "wage"?',
    ),
    ("unknown table", ("[stores.rack]", "[store.rack]"), "store", "no table `store`", None, 'did you mean "stores"?'),
    (
        "misspelt station",
        ('id = "glue"\nstation = "bond_frame"', 'id = "glue"\nstation = "bond_frme"'),
        f"{OPERATIONS}[glue].station",
        'no station is called "bond_frme"',
        "the id of a station",
        'did you mean "bond_frame"?',
    ),
    (
        "misspelt crew",
        ("crew = { fitter = 1 }\ntime = {", "crew = { fiter = 1 }\ntime = {"),
        f"{OPERATIONS}[glue].crew.fiter",
        'no crew is called "fiter"',
        "the id of a crew",
        'did you mean "fitter"?',
    ),
    (
        "misspelt item",
        ("takes = { tub = 1,", "takes = { tubb = 1,"),
        f"{OPERATIONS}[glue].takes.tubb",
        'no item is called "tubb"',
        "the id of an item",
        'did you mean "tub"?',
    ),
    (
        "misspelt shift",
        ('shift = "day"', 'shift = "dya"'),
        "crews.fitter.shift",
        'no shift is called "dya"',
        "the id of a shift",
        'did you mean "day"?',
    ),
    (
        "misspelt rework",
        ('rework = "glue"', 'rework = "gleu"'),
        f"{OPERATIONS}[leak].check.then.rework",
        'no operation is called "gleu"',
        "the id of an operation",
        'did you mean "glue"?',
    ),
    (
        "misspelt store",
        ('stand = "15 min"', 'stand = "15 min"\nthen_to = "rak"'),
        f"{OPERATIONS}[cure].then_to",
        'no store is called "rak"',
        "the id of a store",
        'did you mean "rack"?',
    ),
    (
        "misspelt tool",
        ('stand = "15 min"', 'stand = "15 min"\nuses = { robt = 1 }'),
        f"{OPERATIONS}[cure].uses.robt",
        'no tool is called "robt"',
        "the id of a tool",
        'did you mean "robot"?',
    ),
    (
        "misspelt route",
        ("[routes.cart]", '[lines.all]\nroutes = ["crt"]\n[routes.cart]'),
        "lines.all.routes[0]",
        'no route is called "crt"',
        "the id of a route",
        'did you mean "cart"?',
    ),
    (
        "missing unit",
        ('time = "3 min"', "time = 3"),
        f"{OPERATIONS}[leak].time",
        "the unit is missing",
        'a time such as "4 min"',
        None,
    ),
    (
        "missing unit in text",
        ('time = "3 min"', 'time = "3"'),
        f"{OPERATIONS}[leak].time",
        "the unit is missing",
        'a time such as "4 min"',
        None,
    ),
    (
        "missing unit of a measured item",
        ('adhesive = "0.42 kg"', "adhesive = 0.42"),
        f"{OPERATIONS}[glue].takes.adhesive",
        "the unit is missing",
        '"0.42 kg"',
        None,
    ),
    (
        "wrong dimension",
        ('time = "3 min"', 'time = "3 kg"'),
        f"{OPERATIONS}[leak].time",
        '"3 kg" is a mass, where a time is wanted',
        'a time such as "4 min"',
        None,
    ),
    (
        "wrong dimension of an amount",
        ('adhesive = "0.42 kg"', 'adhesive = "0.42 m2"'),
        f"{OPERATIONS}[glue].takes.adhesive",
        '"0.42 m2" is an area, where item "adhesive" is measured by mass (kg)',
        None,
        None,
    ),
    (
        "wrong dimension of a price",
        ('buy = "9 EUR/kg"', 'buy = "9 EUR/m2"'),
        "items.adhesive.buy",
        "where item",
        None,
        None,
    ),
    (
        "wrong dimension of a demand",
        ('demand = "36 each/day"', 'demand = "36 m2/day"'),
        "plan.demand",
        'is an area, where item "cart" is counted in each',
        None,
        None,
    ),
    (
        "unknown unit",
        ('time = "3 min"', 'time = "3 mn"'),
        f"{OPERATIONS}[leak].time",
        '"mn" is not a unit known here',
        None,
        "did you mean",
    ),
    (
        "negative time",
        ('time = "3 min"', 'time = "-3 min"'),
        f"{OPERATIONS}[leak].time",
        "this is negative",
        "a time of 0 or more",
        None,
    ),
    (
        "time that is no number",
        ('time = "3 min"', 'time = "nan min"'),
        f"{OPERATIONS}[leak].time",
        "not a finite number",
        'a time such as "4 min"',
        None,
    ),
    (
        "nan as a number",
        ("cv = 0.15", "cv = nan"),
        f"{OPERATIONS}[glue].time.cv",
        "not a finite number",
        "a number, 0 or more",
        None,
    ),
    (
        "an item with neither price nor maker",
        ('buy = "96 EUR"', "note = 'no price'"),
        "items.tub",
        'item "tub" has neither a price nor a maker',
        "`free = true`",
        None,
    ),
    (
        "two operations with one id",
        ('id = "cure"', 'id = "glue"'),
        f"{OPERATIONS}[1].id",
        'two operations are called "glue"',
        "an id of its own in the whole plan",
        None,
    ),
    (
        "share over 100 %",
        ('"seam gap" = "2 %"', '"seam gap" = "200 %"'),
        f'{OPERATIONS}[glue].faults."seam gap"',
        "this share is over 100 %",
        "from 0 % to 100 %",
        None,
    ),
    (
        "share without its sign",
        ('"seam gap" = "2 %"', '"seam gap" = 2'),
        f'{OPERATIONS}[glue].faults."seam gap"',
        "this share is over 100 %",
        "from 0 % to 100 %",
        'did you mean "2 %"?',
    ),
    (
        "shares over 100 %",
        ('stand = "15 min"', 'stand = "15 min"\nloses = { water = "60 %", dust = "50 %" }'),
        f"{OPERATIONS}[cure].loses",
        "gives and loses 110 % of what goes in: shares over 100 %",
        "100 % at most",
        None,
    ),
    (
        "three rests",
        ('stand = "15 min"', 'stand = "15 min"\nloses = { water = "rest", dust = "rest", trim = "rest" }'),
        f"{OPERATIONS}[cure].loses",
        "more than two rests",
        'one "rest"',
        None,
    ),
    (
        "rework that never ends",
        ('{ rework = "glue", at_most = 1 }', '{ rework = "glue" }'),
        f"{OPERATIONS}[leak].check.then",
        "a rework that never ends",
        "at_most = 1",
        "`else`",
    ),
    (
        "rework without end by infinity",
        ("at_most = 1", "at_most = inf"),
        f"{OPERATIONS}[leak].check.then.at_most",
        "a rework that never ends",
        "whole number",
        None,
    ),
    (
        "rework to a later operation",
        ('stand = "15 min"', 'stand = "15 min"\ncheck = { finds = {}, then = { rework = "leak", at_most = 1 } }'),
        f"{OPERATIONS}[cure].check.then.rework",
        "which comes after it",
        "this operation or one before it",
        None,
    ),
    (
        "crew of nobody",
        ("people = 3", "people = 0"),
        "crews.fitter.people",
        "0 is too small",
        "whole number, 1 or more",
        None,
    ),
    (
        "crew of nobody in a shift",
        ("{ late = 2 }", "{ late = 0 }"),
        "crews.cleaner.people.late",
        "0 is too small",
        "whole number, 1 or more",
        None,
    ),
    (
        "nobody at an operation",
        ("crew = { fitter = 1 }\ntime = {", "crew = { fitter = 0 }\ntime = {"),
        f"{OPERATIONS}[glue].crew.fitter",
        "0 is too small",
        "number above 0",
        None,
    ),
    (
        "more people than there are",
        ("crew = { fitter = 1 }\ntime = {", "crew = { fitter = 4 }\ntime = {"),
        f"{OPERATIONS}[glue].crew",
        'needs 4 of crew "fitter", and there are never more than 3',
        "people who are there together",
        None,
    ),
    (
        "no common hours",
        ("crew = { fitter = 1 }\ntime = {", "crew = { fitter = 1, cleaner = 1 }\ntime = {"),
        f"{OPERATIONS}[glue].crew",
        "its crews have no common hours: fitter, cleaner",
        "people who are there together",
        None,
    ),
    (
        "shift that overlaps itself",
        ('hours = "06:00-14:30"', 'hours = ["06:00-14:30", "14:00-15:00"]'),
        "shifts.day.hours",
        "this shift overlaps itself",
        "hours that do not overlap",
        None,
    ),
    (
        "shift of all day that runs into the next",
        ('hours = "14:30-22:00"', 'hours = ["14:30-13:00", "10:00-11:00"]'),
        "shifts.late.hours",
        "this shift overlaps itself",
        "hours that do not overlap",
        None,
    ),
    (
        "break outside the hours",
        ('"11:30-12:00"]', '"15:30-16:00"]'),
        "shifts.day.breaks[1]",
        "outside the hours",
        "inside the hours",
        None,
    ),
    (
        "hours of no day",
        ('hours = "06:00-14:30"', 'hours = "06:00-25:30"'),
        "shifts.day.hours",
        "no such time",
        "24:00",
        None,
    ),
    (
        "no such day",
        ('days = "Mon-Fri"', 'days = "Mon-Fry"'),
        "shifts.day.days",
        '"Mon-Fry" is no day',
        "Mon, Tue",
        None,
    ),
    (
        "load out of order",
        ('stand = "15 min"', 'stand = "15 min"\nload = { least = 8, most = 4 }'),
        f"{OPERATIONS}[cure].load",
        "the least load is more than the most",
        "least <= most",
        None,
    ),
    (
        "triangle out of order",
        ('time = "3 min"', 'time = { least = "3 min", likely = "2 min", most = "5 min" }'),
        f"{OPERATIONS}[leak].time",
        "out of order",
        "least <= likely <= most",
        None,
    ),
    (
        "two forms of a time",
        ("cv = 0.15 }", 'cv = 0.15, fixed = "1 min" }'),
        f"{OPERATIONS}[glue].time",
        "two forms of a time",
        "one form",
        None,
    ),
    (
        "mean without its spread",
        ('time = { mean = "5.5 min", cv = 0.15 }', 'time = { mean = "5.5 min" }'),
        f"{OPERATIONS}[glue].time",
        "`mean` needs `cv` beside it",
        None,
        None,
    ),
    (
        "reserved field",
        ('stand = "15 min"', 'stand = "15 min"\npower = "2 kW"'),
        f"{OPERATIONS}[cure].power",
        "`power` is not yet played",
        "a field of this version",
        "its name is kept",
    ),
    (
        "a time by an option that is not there",
        ('time = "3 min"', 'time = { by = "size", table = {} }'),
        f"{OPERATIONS}[leak].time.by",
        'no option is called "size"',
        "the id of an option",
        None,
    ),
    ("missing name", ('name = "Cart"\n', ""), "plan.name", "[plan] needs `name`", "text", None),
    (
        "missing unit of an item",
        ('[items.cart]\nunit = "each"', "[items.cart]"),
        "items.cart.unit",
        "needs `unit`",
        "unit of",
        None,
    ),
    ("half a demand", ('demand = "36 each/day"\n', ""), "plan.demand", "belong together", '"36 each/day"', None),
    ("half a stoppage", ('repair = "35 min"\n', ""), "stations.bond_frame.repair", "belong together", "a time", None),
    (
        "crew without shift",
        ('shift = "day"\n', ""),
        "crews.fitter.shift",
        "a crew needs its shift",
        "the id of a shift",
        "day, late",
    ),
    (
        "nothing to pull",
        ('makes = "cart"', 'makes = "cart"\nrelease = "pull"'),
        "plan.open_pieces",
        "needs the number",
        "open_pieces",
        None,
    ),
    (
        "money that is a unit",
        ('money = "EUR"', 'money = "min"'),
        "plan.money",
        "this word is taken: it is a time",
        "EUR",
        None,
    ),
    (
        "unit that is a time",
        ('[items.cart]\nunit = "each"', '[items.cart]\nunit = "h"'),
        "items.cart.unit",
        "unit of time",
        "unit of",
        None,
    ),
    (
        "unit in capitals",
        ('unit = "kg"', 'unit = "Kg"'),
        "items.adhesive.unit",
        "not a unit known",
        None,
        'did you mean "kg"?',
    ),
    (
        "a table for a text",
        ('id = "cure"', 'id = "cure"\nname = { de = "x" }'),
        f"{OPERATIONS}[cure].name",
        "this is a table",
        "a text",
        None,
    ),
    (
        "hands-on longer than time",
        ('time = "3 min"', 'time = "3 min"\nhands_on = "4 min"'),
        f"{OPERATIONS}[leak].hands_on",
        "more hands-on time than time",
        "3 min",
        None,
    ),
]


@pytest.mark.parametrize(
    ("change", "path", "what", "expected", "hint"), [c[1:] for c in CASES], ids=[c[0] for c in CASES]
)
def test_problem(
    check: Any, text: str, change: tuple[str, str], path: str, what: str, expected: str | None, hint: str | None
) -> None:
    plan, problems = check(change)
    assert plan is None
    matching = [p for p in problems if p.path == path and what in p.what]
    assert matching, "\n".join(map(str, problems))
    problem = matching[0]
    assert problem.level is Level.ERROR
    assert problem.file is not None
    assert problem.file.endswith("cart.toml")
    assert problem.line is not None
    above = text[: text.index(change[0])]
    first = above.count("\n") + 1
    header = above[: above.rfind("\n[") + 1].count("\n") + 1  # a field that is missing is placed at its table
    assert header <= problem.line <= first + change[1].count("\n")
    if expected is not None:
        assert expected in str(problem.expected)
    if hint is not None:
        assert hint in str(problem.hint)


def test_one_mistake_gives_few_problems(check: Any) -> None:
    """A mistake does not drag others along: most give one problem, none more than three."""
    counts = [len(check(change)[1]) for _, change, *_ in CASES]
    assert max(counts) <= 3
    assert sum(count == 1 for count in counts) >= 0.85 * len(counts)


def test_all_problems_in_one_pass(check: Any) -> None:
    _, problems = check(
        ('wage = "27 EUR/h"', 'wages = "27 EUR/h"'),
        ('time = "3 min"', 'time = "3 kg"'),
        ('"11:30-12:00"]', '"15:30-16:00"]'),
        ('rework = "glue"', 'rework = "gleu"'),
    )
    assert {p.path for p in problems} >= {
        "crews.fitter.wages",
        f"{OPERATIONS}[leak].time",
        "shifts.day.breaks[1]",
        f"{OPERATIONS}[leak].check.then.rework",
    }


def test_line_is_the_line_of_the_field(check: Any, text: str) -> None:
    _, problems = check(('time = "3 min"', 'time = "3 kg"'))
    assert only(problems).line == text.split("\n").index('time = "3 min"') + 1
    assert only(problems).value == '"3 kg"'


LID = """
[items.lid]
unit = "each"
[routes.lid]
gives = "lid"
[[routes.lid.operations]]
id = "press"
time = "1 min"
"""


def test_circle_is_named_in_full(check: Any) -> None:
    _, problems = check(('id = "glue"', 'id = "glue"\nafter = "leak"'))
    problem = only(problems)
    assert problem.what == "these operations wait for each other in a circle: glue -> leak -> cure -> glue"
    assert problem.path == f"{OPERATIONS}[glue].after"


def test_operation_after_itself(check: Any) -> None:
    _, problems = check(('id = "glue"', 'id = "glue"\nafter = ["glue"]'))
    assert "glue -> glue" in only(problems).what


def test_route_that_nothing_uses_is_a_warning(check: Any) -> None:
    more = LID
    plan, problems = check(("[routes.cart]", more + "[routes.cart]"))
    assert plan is not None
    problem = only(problems)
    assert problem.level is Level.WARNING
    assert problem.path == "routes.lid"
    assert 'nothing uses route "lid"' in problem.what


def test_item_that_nobody_knows_is_a_warning(check: Any) -> None:
    plan, problems = check(("[items.tub]", '[items.lid]\nunit = "each"\n[items.tub]'))
    assert plan is not None
    assert only(problems).path == "items.lid"


def test_fault_that_nobody_makes_is_a_warning(check: Any) -> None:
    plan, problems = check(('{ "seam gap" = "97 %" }', '{ "seam gap" = "97 %", "seam gpa" = "50 %" }'))
    assert plan is not None
    problem = only(problems)
    assert problem.level is Level.WARNING
    assert problem.path == f'{OPERATIONS}[leak].check.finds."seam gpa"'
    assert problem.hint == 'did you mean "seam gap"?'


def test_reaction_to_a_fault_not_sought(check: Any) -> None:
    _, problems = check(('then = { rework = "glue", at_most = 1 }', 'then = { "seam gpa" = "scrap" }'))
    problem = only(problems)
    assert problem.path == f'{OPERATIONS}[leak].check.then."seam gpa"'
    assert problem.hint == 'did you mean "seam gap"?'


def test_rework_into_another_route(check: Any) -> None:
    more = LID + 'check = { finds = { "seam gap" = 1.0 }, then = { rework = "glue", at_most = 1 } }\n'
    _, problems = check(
        ("takes = { tub = 1,", "takes = { tub = 1, lid = 1,"), ("[stores.rack]", f"{more}[stores.rack]")
    )
    assert 'which is in route "cart"' in only(problems).what


def test_route_shares_over_the_whole(check: Any) -> None:
    more = '\n[routes.other]\ngives = "cart"\nshare = "60 %"\n[[routes.other.operations]]\nid = "all"\ntime = "9 min"\n'
    _, problems = check(
        ('gives = "cart"\n', 'gives = "cart"\nshare = "60 %"\n'), ("[stores.rack]", more + "[stores.rack]")
    )
    assert "shares over 100 %" in only(problems).what


def test_mix_that_does_not_add_up(check: Any) -> None:
    mix = (
        'adhesive = { any_of = ["adhesive", "tub"], amount = "0.42 kg", shares = { adhesive = "70 %", tub = "20 %" } }'
    )
    _, problems = check(('adhesive = "0.42 kg"', mix))
    assert "add up to 0.9, not 1" in only(problems).what


def test_station_and_crew_without_common_hours(check: Any) -> None:
    _, problems = check(("places = 2", 'places = 2\nhours = "late"'))
    assert "crew fitter and station bond_frame have no common hours" in only(problems).what


def test_line_of_other_operations(check: Any) -> None:
    more = LID
    line = '[lines.one]\nroutes = ["cart"]\ntogether = [["glue", "press"]]\napart = [["glue", "press"]]\n'
    _, problems = check(
        ("takes = { tub = 1,", "takes = { lid = 1, tub = 1,"), ("[stores.rack]", f"{more}{line}[stores.rack]")
    )
    assert {p.path for p in problems} == {"lines.one.together[0][1]", "lines.one.apart[0][1]", "lines.one.apart[0]"}


LINE_FAULTS: dict[str, tuple[str, str, str]] = {
    "station": ("stations = 2\nfixed = { glue = [3, 4] }", "fixed.glue", "has 2 stations"),
    "zone": ("zones = { hall = [1] }", "zones.hall", 'is in zone "hall"'),
    "machine": ('machines = ["spare"]', "machines[0]", 'is at "spare"'),
    "skill": ('skills = { fitter = ["wiring"] }', "skills.fitter[0]", 'needs "wiring"'),
    "crew": ('skills = { fiter = ["fitter"] }', "skills.fiter", 'no crew is called "fiter"'),
    "within": ('within = "40 %"', "within", "50 % to below 100 %"),
    "strain": ("strain = { glue = 2 }", "strain_limit", "belong together"),
    "current": ('current = "yesterday"', "current", "says no stations"),
    "current station": ("stations = 2\ncurrent = { glue = 3 }", "current.glue", "has 2 stations"),
    "people": ("people = 0", "people", "too small"),
    "cost": ('station_cost = "3 EUR"', "station_cost", "is a money"),
}


@pytest.mark.parametrize("name", LINE_FAULTS)
def test_faults_of_a_line(check: Any, name: str) -> None:
    field, path, what = LINE_FAULTS[name]
    line = f'[stations.spare]\n[lines.one]\nroutes = ["cart"]\n{field}\n'
    _, problems = check(("[stores.rack]", f"{line}[stores.rack]"))
    (problem,) = [p for p in problems if p.level is Level.ERROR]
    assert problem.path == f"lines.one.{path}"
    assert what in problem.what


def test_load_by_height_needs_a_thickness(check: Any) -> None:
    _, problems = check(('stand = "15 min"', 'stand = "15 min"\nload = { height = "120 mm" }'))
    assert "has a thickness" in only(problems).what


@pytest.mark.parametrize("name", ["none.csv", "../none.csv", "a\\u0000b"])
def test_study_file_that_is_not_there(check: Any, name: str) -> None:
    _, problems = check(('time = "3 min"', f'time = {{ study = "{name}" }}'))
    problem = only(problems)
    assert problem.path == f"{OPERATIONS}[leak].time.study"
    assert "there is no such file" in problem.what


def test_hazard_without_a_caution_is_a_warning(check: Any) -> None:
    plan, problems = check(('stand = "15 min"', 'stand = "15 min"\nhazards = ["hot press", "hot pres"]'))
    assert plan is not None
    problem = only(problems)
    assert problem.level is Level.WARNING
    assert problem.path == f"{OPERATIONS}[cure].hazards[1]"
    assert problem.hint == 'did you mean "hot press"?'


def test_non_ascii_names_are_fine(check: Any) -> None:
    plan, problems = check(
        ('id = "glue"', 'id = "käse_наклей"'),
        ('rework = "glue"', 'rework = "käse_наклей"'),
        ('name = "Cart"', 'name = "Würfel 車 🛒"'),
        ("[items.tub]", '[items."wanne größe 2"]'),
        ("takes = { tub = 1,", 'takes = { "wanne größe 2" = 1,'),
    )
    assert problems == []
    assert plan is not None
    assert plan.name == "Würfel 車 🛒"
    assert "wanne größe 2" in plan.items


# ------------------------------------------------------------------------------------------------ files of no use


def refused(file: Path) -> Problem:
    plan, problems = check_plan(file)
    assert plan is None
    with pytest.raises(ProblemsError):
        read_plan(file)
    problem = only(list(problems))
    assert problem.file == str(file)
    return problem


@pytest.mark.parametrize("data", [b"", b"  \n\t\n"])
def test_empty_file(tmp_path: Path, data: bytes) -> None:
    file = tmp_path / "empty.toml"
    file.write_bytes(data)
    problem = refused(file)
    assert "empty" in problem.what
    assert "linewright new" in str(problem.hint)


def test_missing_file(tmp_path: Path) -> None:
    assert "cannot be read" in refused(tmp_path / "none.toml").what


def test_folder(tmp_path: Path) -> None:
    assert "no file" in refused(tmp_path).what


def test_binary_file(tmp_path: Path) -> None:
    file = tmp_path / "photo.toml"
    file.write_bytes(bytes(range(256)) * 10)
    assert "binary" in refused(file).what


def test_spreadsheet_for_a_plan(tmp_path: Path) -> None:
    file = tmp_path / "plan.xlsx"
    file.write_bytes(b"PK\x03\x04" + bytes(100))
    assert "linewright import" in str(refused(file).hint)


def test_other_encoding_names_its_line(tmp_path: Path) -> None:
    file = tmp_path / "old.toml"
    file.write_bytes("[plan]\nname = 'Käse'\n".encode("latin-1"))
    problem = refused(file)
    assert "UTF-8" in problem.what
    assert problem.line == 2


def test_file_of_50_mb_is_refused_unread(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "large.toml"
    with file.open("wb") as stream:
        stream.truncate(50_000_000)
    monkeypatch.setattr(Path, "read_bytes", lambda _: pytest.fail("the file was read"))
    assert "50 MB" in refused(file).what


@pytest.mark.parametrize(
    ("text", "line", "hint"),
    [
        ('[plan]\nname = "Cart"\ntime = 4 min\n', 3, "in quotes"),
        ('[plan]\nname = "Cart\nmoney = "EUR"\n', 2, None),
        ('[plan]\nname = "Cart"\nname = "Cart"\n', 3, None),
        ('[plan]\nname = "Cart"\n[plan]\n', 3, None),
        ('[plan]\nname = "Cart"\nlist = [1, 2\n', 4, None),
        ("just words\n", 1, None),
    ],
)
def test_syntax_error_names_its_line(tmp_path: Path, text: str, line: int, hint: str | None) -> None:
    file = tmp_path / "wrong.toml"
    file.write_text(text)
    problem = refused(file)
    assert "not TOML" in problem.what
    assert problem.line == line
    if hint:
        assert hint in str(problem.hint)


@pytest.mark.parametrize(
    "text",
    [
        f"x = {'[' * 5000}{']' * 5000}",
        f"x = {'[' * 200}{']' * 200}",
        f"x{'.a' * 500_000} = 1",
        "[x" + '."a b"' * 500_000 + "]",
        f"x = {'{ a = ' * 300}1{'}' * 300}",
    ],
    ids=["lists", "fewer lists", "dotted key", "header", "inline tables"],
)
def test_nested_too_deeply(tmp_path: Path, text: str) -> None:
    file = tmp_path / "deep.toml"
    file.write_text(text)
    assert "nested" in refused(file).what


@pytest.mark.parametrize("number", ["1" * 5000, f"0x{'f' * 5000}"])
def test_number_without_end(tmp_path: Path, number: str) -> None:
    file = tmp_path / "long.toml"
    file.write_text(f"x = {number}")
    refused(file)


def test_name_without_end_is_cut_in_the_problem(check: Any) -> None:
    _, problems = check(("takes = { tub = 1,", f"takes = {{ {'x' * 100_000} = 1,"))
    assert len(only(problems).what) <= 400


def test_reading_stays_quick_in_a_plan_of_ruins(check: Any) -> None:
    """Thousands of misspelt names give their problems without a search for the nearest name for each of them."""
    rows = "\n".join(f'[[routes.cart.operations]]\nid = "o{k}"\ntime = "1 s"\nstation = "x{k}"' for k in range(3000))
    stations = "\n".join(f"[stations.s{k}]" for k in range(3000))
    _, problems = check(
        ("[stores.rack]", f"{stations}\n[stores.rack]"), ("at_most = 1 } }\n", "at_most = 1 } }\n" + rows)
    )
    assert len(problems) == 3000
    assert sum(p.hint is not None for p in problems) == 40
