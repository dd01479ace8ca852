"""The pages asked as a browser asks them."""

from __future__ import annotations

from typing import Any


def text_of(pages: Any, name: str) -> str:
    found: str = pages.get(f"/api/plan/{name}").json()["text"]
    return found


def test_the_first_page_lists_the_plans(pages: Any) -> None:
    reply = pages.get("/")
    assert reply.status_code == 200
    for title in ("Stitched walking boot", "Cellar cider"):
        assert title in reply.text
    named = {one["name"] for one in pages.get("/api/plans").json()}
    assert {"boot", "cider", "hivekit", "reedboard", "trailer"} <= named


def test_every_example_is_answered(pages: Any) -> None:
    for name in ("boot", "cider", "hivekit", "reedboard", "trailer"):
        reply = pages.post("/api/answer", {"name": name, "text": text_of(pages, name)})
        assert reply.status_code == 200, reply.text
        found = reply.json()
        assert len(found["sections"]) == 9
        assert found["map"]["svg"].startswith("<svg")
        for forbidden in ("<script", "<style", " style=", " onclick", "javascript:"):
            assert forbidden not in reply.text, f"{name}: {forbidden}"


def test_sections_that_are_not_open_come_in_short(pages: Any) -> None:
    text = text_of(pages, "trailer")
    found = pages.post("/api/answer", {"name": "trailer", "text": text, "open": ["rate"]}).json()
    assert [s["id"] for s in found["sections"] if s["html"]] == ["rate"]
    assert all(s["short"] for s in found["sections"])
    assert "cost" not in found["charts"]


def test_a_plan_with_errors_is_no_answer_but_its_problems(pages: Any) -> None:
    text = text_of(pages, "trailer").replace("[plan]", "[plan]\nmkaes = 1", 1)
    reply = pages.post("/api/answer", {"name": "trailer", "text": text})
    assert reply.status_code == 200
    assert "sections" not in reply.json()
    (problem,) = reply.json()["problems"]
    assert problem["path"] == "plan.mkaes"
    assert text.split("\n")[problem["line"] - 1] == "mkaes = 1"


def test_tables_and_names_are_there_while_a_line_is_being_typed(pages: Any) -> None:
    text = text_of(pages, "trailer")
    whole = pages.post("/api/check", {"name": "trailer", "text": text}).json()
    assert whole["problems"] == []
    typing = text.replace('money = "EUR"', 'money = "EU', 1)
    found = pages.post("/api/check", {"name": "trailer", "text": typing}).json()
    (problem,) = found["problems"]
    assert found["left_out"] == [problem["line"]]
    assert found["names"] == whole["names"]
    assert found["tables"] == whole["tables"]


def test_rows_of_a_table_elsewhere_say_where(pages: Any) -> None:
    found = pages.post("/api/check", {"name": "boot", "text": text_of(pages, "boot")}).json()
    rows = found["tables"]["operations"]["rows"]
    assert {row["file"] for row in rows} == {None, "boot_upper.csv"}
    first = next(row for row in rows if row["file"])
    assert (first["line"], first["id"]) == (2, "cut_vamps")
