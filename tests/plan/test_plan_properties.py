"""Whatever is written, reading gives a plan or problems, never a traceback; what can be read comes back the same."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from linewright.base.problems import Problems, ProblemsError
from linewright.plan import PlanBuilder, check_plan, read_plan
from linewright.plan.importing import import_table
from linewright.plan.load import check_text
from linewright.plan.paths import join
from linewright.plan.places import scan
from linewright.plan.read import read_document
from linewright.plan.reference import TABLES
from linewright.plan.scaffold import new_plan

HERE = Path("cart.toml")
TEXT = new_plan("Stool")
QUICK = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
)

SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.just(10**400),
    st.floats(),
    st.text(max_size=12),
    st.sampled_from(
        [
            "-1 min",
            "nan kg",
            "1e400 h",
            "9e307 week",
            "4 min",
            "2 %",
            "999 %",
            "rest",
            "12 each",
            "1 EUR",
            "0 kg",
            "3 t dry",
            "glue",
            "look",
            "stool",
            "seat",
            "joiner",
            "day",
            "bench",
            "*",
            "next",
            "06:00-06:00",
            "22:00-06:00",
            "Mon-Sun",
        ]
    ),
    st.dates(),
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(
            st.one_of(st.text(max_size=6), st.sampled_from(["rework", "at_most", "any_of", "fixed", "mean", "seat"])),
            inner,
            max_size=3,
        ),
    ),
    max_leaves=6,
)


def every_place(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The ways to every value of a document."""
    found = [path] if path else []
    if isinstance(value, dict):
        for key, part in value.items():
            found += every_place(part, (*path, key))
    if isinstance(value, list):
        for number, part in enumerate(value):
            found += every_place(part, (*path, number))
    return found


def as_path(way: tuple[Any, ...]) -> str:
    """A way as a path."""
    path = ""
    for part in way:
        path = f"{path}[{part}]" if isinstance(part, int) else join(path, part)
    return path


DOCUMENT = tomllib.loads(TEXT)
PLACES = every_place(DOCUMENT)


@QUICK
@given(st.lists(st.tuples(st.sampled_from(PLACES), VALUES), min_size=1, max_size=4))
def test_any_value_anywhere_gives_a_plan_or_problems(changes: list[tuple[tuple[Any, ...], Any]]) -> None:
    document: Any = copy.deepcopy(DOCUMENT)
    for way, value in changes:
        here = document
        try:
            for part in way[:-1]:
                here = here[part]
            here[way[-1]] = value
        except (KeyError, IndexError, TypeError):
            continue  # an earlier change took the way out
    problems = Problems()
    plan = read_document(document, Path(), problems)
    assert (plan is None) == bool(problems.errors)
    assert all(str(p) for p in problems)


@QUICK
@given(st.data())
def test_any_field_in_any_table_gives_a_plan_or_problems(data: st.DataObject) -> None:
    document: Any = copy.deepcopy(DOCUMENT)
    for _ in range(data.draw(st.integers(1, 4))):
        mark = data.draw(
            st.sampled_from(
                ["items", "stations", "stores", "tools", "crews", "shifts", "routes", "lines", "fits", "operations"]
            )
        )
        field = data.draw(st.sampled_from(TABLES[mark].fields))
        value = data.draw(st.one_of(VALUES, st.just(tomllib.loads(f"x = {field.example}")["x"])))
        if mark == "operations":
            rows = document["routes"]["stool"].get("operations")
            target = rows[data.draw(st.integers(0, 2))] if isinstance(rows, list) and len(rows) == 3 else {}
        else:
            target = document.setdefault(mark, {}).setdefault(
                data.draw(st.sampled_from(["stool", "seat", "day", "extra"])), {}
            )
        if isinstance(target, dict):
            target[field.key] = value
    problems = Problems()
    plan = read_document(document, Path(), problems)
    assert (plan is None) == bool(problems.errors)


@QUICK
@given(st.integers(0, len(TEXT)), st.integers(0, 30), st.text(max_size=8))
def test_any_text_gives_a_plan_or_problems_with_lines(at: int, cut: int, put: str) -> None:
    text = TEXT[:at] + put + TEXT[at + cut :]
    plan, problems = check_text(text, HERE)
    assert (plan is None) == bool(problems.errors)
    last = text.count("\n") + 1
    assert all(p.line is None or 1 <= p.line <= last for p in problems)
    assert all(p.line is not None for p in problems.errors)


@QUICK
@given(st.binary(max_size=200))
def test_any_bytes_give_problems(tmp_path: Path, data: bytes) -> None:
    file = tmp_path / "any.toml"
    file.write_bytes(data)
    plan, problems = check_plan(file)
    assert (plan is None) == bool(problems.errors)


@QUICK
@given(st.binary(max_size=120) | st.text(max_size=120).map(lambda t: ("id,time\n" + t).encode("utf-8", "ignore")))
def test_any_table_gives_a_plan_or_problems(tmp_path: Path, data: bytes) -> None:
    file = tmp_path / "any.csv"
    file.write_bytes(data)
    try:
        text = import_table(file)
    except ProblemsError:
        return
    check_text(text, HERE)


LETTERS = st.characters(codec="utf-8", exclude_characters="\x7f", exclude_categories=("Cc", "Cs"))
NAMES = st.text(LETTERS, min_size=1, max_size=8).filter(str.strip)


@st.composite
def sound(draw: st.DrawFn) -> dict[str, Any]:
    """A plan of one route that makes sense."""
    names = draw(st.lists(NAMES, min_size=5, max_size=9, unique=True))
    thing, part, station, crew, *steps = names
    minutes = st.floats(0.01, 1e4).map(lambda x: f"{x} min")
    rows: list[dict[str, Any]] = []
    for number, step in enumerate(steps):
        row: dict[str, Any] = {"id": step, "time": draw(minutes)}
        if draw(st.booleans()):
            row["station"] = station
        if draw(st.booleans()):
            row["crew"] = {crew: draw(st.integers(1, 3))}
        if draw(st.booleans()):
            row["takes"] = {part: draw(st.integers(1, 9))}
        if draw(st.booleans()):
            row["time"] = {"mean": draw(minutes), "cv": draw(st.floats(0, 2))}
        if draw(st.booleans()):
            row["faults"] = {draw(NAMES): f"{draw(st.integers(0, 100))} %"}
        if number and draw(st.booleans()):
            row["check"] = {"finds": {}, "then": {"rework": steps[0], "at_most": draw(st.integers(1, 3))}}
        if draw(st.booleans()):
            row["telling"] = draw(st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=20))
        rows.append(row)
    return {
        "plan": {
            "name": draw(NAMES),
            "money": "EUR",
            "makes": thing,
            "demand": f"{draw(st.integers(1, 999))} each/day",
        },
        "items": {thing: {"unit": "each"}, part: {"unit": "each", "buy": f"{draw(st.integers(0, 999))} EUR"}},
        "shifts": {"day": {"hours": "06:00-14:00"}},
        "crews": {crew: {"people": 3, "shift": "day"}},
        "stations": {station: {"places": draw(st.integers(1, 9))}},
        "routes": {thing: {"gives": thing, "operations": rows}},
    }


@QUICK
@given(sound())
def test_written_and_read_is_the_same_as_built(tmp_path: Path, document: dict[str, Any]) -> None:
    file = tmp_path / "plan.toml"
    text = tomlkit.dumps(document)
    file.write_bytes(text.encode())
    read = read_plan(file)
    builder = PlanBuilder("x")
    builder.document = document
    built = builder.build()
    assert read == built
    assert read.fingerprint == built.fingerprint


@QUICK
@given(sound(), st.randoms(use_true_random=False))
def test_order_of_tables_changes_nothing_but_order(document: dict[str, Any], random: Any) -> None:
    builder = PlanBuilder("x")
    builder.document = document
    kinds = list(document.items())
    random.shuffle(kinds)
    other = PlanBuilder("x")
    other.document = dict(kinds)
    assert other.build() == builder.build()
    assert other.build().fingerprint == builder.build().fingerprint


@QUICK
@given(sound())
def test_scanner_finds_what_is_written(document: dict[str, Any]) -> None:
    text = tomlkit.dumps(document)
    assert set(scan(text)) == {as_path(way) for way in every_place(tomllib.loads(text))}


@QUICK
@given(sound(), st.integers(1, 50))
def test_change_is_the_same_as_writing_it(document: dict[str, Any], places: int) -> None:
    builder = PlanBuilder("x")
    builder.document = document
    plan = builder.build()
    (station,) = plan.stations
    changed = plan.change(f"{join('stations', station)}.places", places)
    builder.document = copy.deepcopy(document)
    builder.document["stations"][station]["places"] = places
    assert changed == builder.build()


@QUICK
@given(st.text(max_size=30))
def test_scaffold_of_any_name_is_sound(name: str) -> None:
    text = new_plan(name)
    try:
        text.encode()
    except UnicodeEncodeError:
        return  # half a character: no file can hold it
    plan, problems = check_text(text, HERE)
    assert list(problems) == []
    assert plan is not None
