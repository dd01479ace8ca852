"""Plans made to do harm, and a thousand broken ones: every one is answered in words, and the page goes on."""

from __future__ import annotations

import time
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

HEAD = '[plan]\nname = "x"\nmoney = "EUR"\nmakes = "stool"\ndemand = "10 each/day"\n[items.stool]\nunit = "each"\n'
SECRET = "a line of the secret file"


@pytest.fixture
def works(tmp_path: Path, open_pages: Callable[..., Any]) -> Any:
    root = tmp_path / "works"
    root.mkdir()
    (root / "stool.toml").write_text(HEAD)
    (tmp_path / "secret.csv").write_text(f"id,name,time\nsaw,{SECRET},4 min\n")
    (root / "link.csv").symlink_to(tmp_path / "secret.csv")
    return open_pages(root)


def check(pages: Any, text: str) -> dict[str, Any]:
    reply = pages.post("/api/check", {"name": "stool", "text": text})
    assert reply.status_code == 200, reply.text
    found: dict[str, Any] = reply.json()
    return found


def outside(works: Any) -> list[str]:
    return ["../secret.csv", str(works.root.parent / "secret.csv"), "link.csv", "a/../../secret.csv", "/etc/passwd"]


def test_a_table_outside_the_folder_is_not_read(works: Any) -> None:
    for name in outside(works):
        text = f'{HEAD}[routes.stool]\ngives = "stool"\noperations = {{ table = "{name}" }}\n'
        found = check(works, text)
        assert any("outside the folder" in p["what"] for p in found["problems"]), name
        assert SECRET not in str(found)


def test_a_study_outside_the_folder_is_not_read(works: Any) -> None:
    for name in outside(works):
        step = f'[[routes.stool.operations]]\nid = "saw"\ntime = {{ study = "{name}" }}\n'
        for kind in ("check", "answer"):
            text = f'{HEAD}[routes.stool]\ngives = "stool"\n{step}'
            reply = works.post(f"/api/{kind}", {"name": "stool", "text": text})
            assert any("outside the folder" in p["what"] for p in reply.json()["problems"]), name
            assert SECRET not in reply.text


def bomb(file: Path, megabytes: int) -> None:
    """A spreadsheet whose only sheet unpacks to so much."""
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr(
            "[Content_Types].xml",
            '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>',
        )
        with packed.open("xl/worksheets/sheet1.xml", "w") as sheet:
            for _ in range(megabytes):
                sheet.write(b" " * 1_000_000)


@pytest.mark.parametrize("field", ["operations", "study"])
def test_a_spreadsheet_that_unpacks_to_far_more_is_refused(works: Any, field: str) -> None:
    bomb(works.root / "bomb.xlsx", 300)
    assert (works.root / "bomb.xlsx").stat().st_size < 1_000_000
    route = '[routes.stool]\ngives = "stool"\n'
    text = f'{HEAD}{route}operations = {{ table = "bomb.xlsx" }}\n'
    if field == "study":
        text = f'{HEAD}{route}[[routes.stool.operations]]\nid = "saw"\ntime = {{ study = "bomb.xlsx" }}\n'
    began = time.perf_counter()
    reply = works.post("/api/answer", {"name": "stool", "text": text})
    assert time.perf_counter() - began < 5
    assert any("unpacks to" in p["what"] for p in reply.json()["problems"]), reply.text


def test_entities_that_grow_are_not_followed(works: Any) -> None:
    laughs = "".join(f'<!ENTITY l{k} "{f"&l{k - 1};" * 10}">' for k in range(1, 12))
    book = f'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY l0 "ha">{laughs}]><workbook>&l11;</workbook>'
    with zipfile.ZipFile(works.root / "laughs.xlsx", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("[Content_Types].xml", book)
        packed.writestr("xl/workbook.xml", book)
    text = f'{HEAD}[routes.stool]\ngives = "stool"\noperations = {{ table = "laughs.xlsx" }}\n'
    began = time.perf_counter()
    found = check(works, text)
    assert time.perf_counter() - began < 5
    assert any("not a spreadsheet" in p["what"] for p in found["problems"])


@pytest.mark.parametrize(
    "value",
    ["{{ 7 * 7 }}", "{% import os %}", "<script>alert(1)</script>", "__import__('os').system('x')", "${7*7}", "=1+1",
     "<img src=x onerror=alert(1)>", "\\u202e", "'; drop table plans; --", "#read(\\\"/etc/passwd\\\")"],
)  # fmt: skip
def test_nothing_in_a_plan_is_evaluated_or_becomes_markup(works: Any, value: str) -> None:
    text = works.root.parent.parent  # any folder: only the examples are needed
    del text
    plan = (Path(__file__).resolve().parents[2] / "examples" / "trailer.toml").read_text(encoding="utf-8")
    named = plan.replace('name = "Luggage trailer"', f'name = "{value}"', 1)
    reply = works.post("/api/answer", {"name": "stool", "text": named})
    html = "".join(s["html"] for s in reply.json().get("sections", [])) + reply.json().get("map", {}).get("svg", "")
    assert "<script" not in html
    assert "<img" not in html
    assert "49" not in reply.json().get("question", "")
    (works.root / "named.toml").write_text(named)
    page = works.get("/").text
    assert "<script>alert" not in page
    assert "onerror=alert(1)>" not in page.replace("&gt;", "")


def runaways() -> dict[str, str]:
    """Plans that would take a machine for hours if they were let."""
    wide = ", ".join(f'f{k} = "1 %"' for k in range(400))
    chain = "".join(f'[[routes.stool.operations]]\nid = "s{k}"\ntime = "1 min"\n' for k in range(4000))
    loops = "".join(
        f'[[routes.stool.operations]]\nid = "s{k}"\ntime = "1 min"\nfaults = {{ f{k} = "50 %" }}\n'
        f'check = {{ finds = {{ f{k} = "50 %" }}, then = {{ rework = "s0", at_most = 9 }} }}\n'
        for k in range(14)
    )
    route = '[routes.stool]\ngives = "stool"\n'
    return {
        "deep": "a = " + "[" * 5000 + "]" * 5000,
        "dotted": "a" + ".a" * 50_000 + " = 1",
        "digits": "a = " + "9" * 500_000,
        "keys": "\n".join(f"k{k} = 1" for k in range(60_000)),
        "quotes": 'a = """' + '"\n' * 300_000,
        "tables": "".join(f"[t{k}]\n" for k in range(40_000)),
        "faults": f'{HEAD}{route}[[routes.stool.operations]]\nid = "s"\ntime = "1 min"\nfaults = {{ {wide} }}\n',
        "chain": f"{HEAD}{route}{chain}",
        "loops": f"{HEAD}{route}{loops}",
        "fast": f'{HEAD.replace("10 each", "1e15 each")}{route}[[routes.stool.operations]]\nid = "s"\ntime = "1 ns"\n',
    }


@pytest.mark.parametrize("kind", sorted(runaways()))
def test_a_runaway_stops_no_page(works: Any, kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from linewright.pages import desk

    monkeypatch.setattr(desk, "CHECK_SECONDS", 5.0)
    monkeypatch.setattr(desk, "ANSWER_SECONDS", 5.0)
    text = runaways()[kind]
    for path in ("/api/check", "/api/answer"):
        began = time.perf_counter()
        reply = works.post(path, {"name": "stool", "text": text})
        assert reply.status_code in (200, 422, 503), reply.text[:300]
        assert time.perf_counter() - began < 12
    assert works.get("/").status_code == 200
    assert works.post("/api/check", {"name": "stool", "text": HEAD}).status_code == 200


def test_a_process_that_is_killed_is_told_and_replaced(works: Any) -> None:
    import linewright.pages.work as work

    lane = works.client._transport.app.desk.quick
    works.post("/api/check", {"name": "stool", "text": HEAD})
    lane._process.kill()
    lane._process.join(5)
    assert works.post("/api/check", {"name": "stool", "text": HEAD}).status_code == 200
    assert work.WORKS
