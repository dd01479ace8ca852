"""The schema accepts what the reader accepts, refuses what it can see is wrong; the scaffold is a sound plan."""

from __future__ import annotations

import tomllib
from pathlib import Path

import jsonschema
import pytest
from jsonschema.protocols import Validator

from linewright.plan import check_plan, json_schema, new_plan
from linewright.plan.reference import TABLES

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))


@pytest.fixture(scope="module")
def validator() -> Validator:
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def test_schema_accepts_the_cart(validator: Validator, text: str) -> None:
    validator.validate(tomllib.loads(text))


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: str(file.stem))
def test_schema_accepts_the_examples(validator: Validator, file: Path) -> None:
    validator.validate(tomllib.loads(file.read_text("utf-8")))


def test_schema_accepts_every_example_of_a_field() -> None:
    for mark, record in TABLES.items():
        for field in record.fields:
            value = tomllib.loads(f"{field.key} = {field.example}")[field.key]
            assert jsonschema.Draft202012Validator(field.form.schema()).is_valid(value), (mark, field.key)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('wage = "27 EUR/h"', 'wages = "27 EUR/h"'),
        ("people = 3", "people = 0"),
        ('time = "3 min"', "time = 3"),
        ('id = "cure"\n', ""),
        ("[stores.rack]", "[store.rack]"),
        ('"seam gap" = "2 %"', '"seam gap" = "2 min"'),
        ('shift = "day"', 'shift = ["day"]'),
    ],
)
def test_schema_refuses(validator: Validator, text: str, old: str, new: str) -> None:
    assert not validator.is_valid(tomllib.loads(text.replace(old, new)))


@pytest.mark.parametrize("name", ["Stool", 'A "quoted" name', "Würfel 車", "", "back\\slash", "NAME"])
def test_scaffold_is_sound(tmp_path: Path, name: str, validator: Validator) -> None:
    text = new_plan(name)
    file = tmp_path / "new.toml"
    file.write_text(text, encoding="utf-8")
    plan, problems = check_plan(file)
    assert list(problems) == []
    assert plan is not None
    assert plan.name == (name or "New plan")
    validator.validate(tomllib.loads(text))


def test_schema_describes_the_fields_of_every_table() -> None:
    schema = json_schema()["properties"]
    for mark in ("items", "stations", "stores", "tools", "crews", "shifts", "routes", "lines"):
        fields = schema[mark]["additionalProperties"]["properties"]
        assert set(fields) == {field.key for field in TABLES[mark].fields}
        assert all(field["description"] for field in fields.values())
