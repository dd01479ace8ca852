"""A thousand broken plans through the whole of the pages: each is answered in words, none with a fault of ours.

The plans are real ones with a few seeded accidents: lines lost, doubled, swapped or taken from elsewhere, numbers and
units out of this world, texts in the place of tables, letters changed.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from linewright.plan.scaffold import new_plan

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
COUNT = 1000
ODD = [
    "0", "-1", "1e308", "-0.0", "nan", "inf", "1e-300", "99999999999999999999", '""', '"x"', '"-5 min"', '"1e300 h"',
    '"1e9 h"', '"1e-12 s"',
    '"0 s"', '"5 kg"', '"4"', '"∞ min"', "[]", "{}", "true", '["a", "a"]', "{ fitter = -1 }", '"100 %"', '"150 %"',
    '"0 each/day"', '"1e9 each/day"', "1979-05-27", '"NaN min"', '"%s"', '"\\u0000"', '{ mean = "4 min", cv = 1e9 }',
    '{ least = 9, most = 1 }', '{ rework = "glue", at_most = 9 }', '"23:00-22:00"', '{ study = "x.csv" }',
]  # fmt: skip


def lost(lines: list[str], luck: random.Random, _: list[str]) -> None:
    del lines[luck.randrange(len(lines))]


def doubled(lines: list[str], luck: random.Random, _: list[str]) -> None:
    at = luck.randrange(len(lines))
    lines.insert(luck.randrange(len(lines)), lines[at])


def swapped(lines: list[str], luck: random.Random, _: list[str]) -> None:
    a, b = luck.randrange(len(lines)), luck.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]


def foreign(lines: list[str], luck: random.Random, others: list[str]) -> None:
    lines.insert(luck.randrange(len(lines)), luck.choice(others))


def odd(lines: list[str], luck: random.Random, _: list[str]) -> None:
    rows = [k for k, line in enumerate(lines) if "=" in line and not line.startswith("#")]
    at = luck.choice(rows)
    lines[at] = f"{lines[at].partition('=')[0]}= {luck.choice(ODD)}"


def number(lines: list[str], luck: random.Random, _: list[str]) -> None:
    rows = [k for k, line in enumerate(lines) if re.search(r"\d", line)]
    at = luck.choice(rows)
    new = luck.choice(["0", "-3", "1e12", "0.0000001", "7", "100000"])
    lines[at] = re.sub(r"\d+(\.\d+)?", lambda _: new, lines[at], count=1)


def word(lines: list[str], luck: random.Random, _: list[str]) -> None:
    found = sorted({w for line in lines for w in re.findall(r"[A-Za-z_]{3,}", line)})
    at = luck.randrange(len(lines))
    lines[at] = re.sub(r"[A-Za-z_]{3,}", lambda _: luck.choice(found), lines[at], count=1)


def letter(lines: list[str], luck: random.Random, _: list[str]) -> None:
    at = luck.randrange(len(lines))
    spot = luck.randrange(len(lines[at]) + 1)
    lines[at] = lines[at][:spot] + luck.choice('"{}[]=,.#\\é\t椅 0') + lines[at][spot + luck.randrange(2) :]


ACCIDENTS: tuple[Callable[[list[str], random.Random, list[str]], None], ...] = (
    lost, doubled, swapped, foreign, odd, odd, number, number, word, letter,
)  # fmt: skip


def mutated(text: str, luck: random.Random, others: list[str]) -> str:
    lines = text.split("\n")
    for _ in range(luck.choice([1, 1, 1, 2, 3, 6])):
        luck.choice(ACCIDENTS)(lines, luck, others)
    return "\n".join(lines)


@pytest.mark.slow
def test_a_thousand_mutated_plans_and_no_fault(tmp_path: Path, open_pages: Callable[..., Any]) -> None:
    luck = random.Random(20260)
    small = new_plan("Stool")
    works = [
        EXAMPLES.joinpath(f"{name}.toml").read_text(encoding="utf-8") for name in ("trailer", "cider", "reedboard")
    ]
    others = [line for text in works for line in text.split("\n") if line.strip()]
    (tmp_path / "stool.toml").write_text(small)
    pages = open_pages(tmp_path)
    answered = 0
    for k in range(COUNT):
        text = mutated(luck.choice(works) if k % 6 == 0 else small, luck, others)
        told = {"name": "stool", "text": text}
        checked = pages.post("/api/check", told)
        assert checked.status_code == 200, f"{k}: {checked.text[:300]}\n{text}"
        reply = pages.post("/api/answer", {**told, "open": []})
        assert reply.status_code == 200, f"{k}: {reply.text[:300]}\n{text}"
        found = reply.json()
        if "sections" in found:
            answered += 1
        else:
            assert found["problems"], text
            assert all(problem["what"] for problem in found["problems"])
        rows = [row for table in checked.json()["tables"].values() for row in table["rows"]]
        if rows:
            row = luck.choice(rows)
            field = f"{row['path']}.{luck.choice([*row['cells'], 'time'])}"
            change = luck.choice([
                {"path": f"{row['path']}.note", "text": "x"}, {"remove": row["path"]}, {"move": row["path"], "by": 1},
                {"path": field, "text": luck.choice(ODD), "toml": True},
                {"insert": "operations", "after": row["path"]},
            ])  # fmt: skip
            edited = pages.post("/api/edit", {**told, "change": change})
            assert edited.status_code in (200, 422), f"{k}: {edited.text[:300]} {change}\n{text}"
    assert COUNT / 10 < answered < 9 * COUNT / 10, "the accidents should break some plans and leave some sound"
