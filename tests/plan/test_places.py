"""The scanner finds the line of everything written, in every style that TOML allows."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from linewright.plan import read_plan
from linewright.plan.paths import join, split
from linewright.plan.places import above, scan

STYLES = '''# a comment with [brackets] = "and" more
top = 1 # [not.a.header]
"quoted key" = "a # in a text"
dotted.key.path = 2
'literal key' = 'C:\\path # [x]'

[ spaced . header ]   # comment
a = """
[not.a.header]
b = "no" \\""" still
""" # end
c = \'\'\'
d = 1
\'\'\'
list = [
  1, # one, [two]
  "three ] four",
  [ 5, { six = 7, "eight nine" = [10] } ],
]
date = 1979-05-27 07:32:00
inline = { x = 1, y.z = { w = "}" }, v = [] }
empty = {}

[[rows]]
id = "a"
[rows.sub]
deep = true
[[rows.sub.list]]
n = 1
[[rows.sub.list]]
n = 2

[[rows]]
id = "b"
[rows.sub]
deep = +inf
text = """one"""
quotes = """a""""
"ключ é" = 1
"esc\\u00e9" = 2
'''


def paths_of(value: Any, path: str = "") -> Iterator[str]:
    """Every path in parsed TOML."""
    if path:
        yield path
    if isinstance(value, dict):
        for key, part in value.items():
            yield from paths_of(part, join(path, key))
    elif isinstance(value, list):
        for number, part in enumerate(value):
            yield from paths_of(part, f"{path}[{number}]")


def value_at(document: Any, path: str) -> Any:
    for part in split(path):
        document = document[part]
    return document


def test_scanner_finds_every_path() -> None:
    assert set(scan(STYLES)) == set(paths_of(tomllib.loads(STYLES)))


def test_line_holds_the_last_key_of_its_path() -> None:
    lines = STYLES.split("\n")
    for path, line in scan(STYLES).items():
        last = split(path)[-1]
        if isinstance(last, str) and last not in ("escé",):
            assert last in lines[line - 1], (path, line)


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ("top", 2),
        ("dotted.key", 4),
        ("spaced.header", 7),
        ("spaced.header.c", 12),
        ("spaced.header.list[0]", 16),
        ('spaced.header.list[2][1]."eight nine"[0]', 18),
        ("spaced.header.inline.y.z.w", 21),
        ("rows", 24),
        ("rows[0].sub.list[1].n", 31),
        ("rows[1]", 33),
        ("rows[1].sub.deep", 36),
    ],
)
def test_line(path: str, line: int) -> None:
    assert scan(STYLES)[path] == line


def test_every_file_of_the_examples() -> None:
    for file in sorted((Path(__file__).parents[2] / "examples").glob("*.toml")):
        text = file.read_text("utf-8")
        assert set(scan(text)) == set(paths_of(tomllib.loads(text))), file.name


def test_places_of_a_plan(tmp_path: Path, text: str) -> None:
    file = tmp_path / "cart.toml"
    file.write_text(text)
    places = read_plan(file).places
    assert places["crews.fitter.people"].line == text.split("\n").index("people = 3") + 1
    assert "crews.fitter.nothing" not in places
    assert len(places) == len(set(places))


def test_above() -> None:
    path = 'routes."a b".operations[2].faults."seam gap"'
    steps = []
    while path:
        path = above(path)
        steps.append(path)
    assert steps == [
        'routes."a b".operations[2].faults',
        'routes."a b".operations[2]',
        'routes."a b".operations',
        'routes."a b"',
        "routes",
        "",
    ]


@pytest.mark.parametrize("wrong", ["a..b", ".", "a b", "a[", "a.[0]x y", '"half'])
def test_text_that_is_no_path(wrong: str) -> None:
    with pytest.raises(ValueError, match="is not a path"):
        split(wrong)
