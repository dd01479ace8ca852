"""Who is let in: hostile requests of the kinds that another page, another site or another machine could send."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from linewright.pages.guard import POLICY, Guard, Rules
from linewright.pages.serve import is_loopback

HOST = "127.0.0.1:8750"
RULES = Rules("token", 8750)


@pytest.mark.parametrize("host", ["127.0.0.1:8750", "localhost:8750", "[::1]:8750", "127.0.0.2:8750"])
def test_the_machine_itself_is_known(host: str) -> None:
    assert Guard(None, RULES).known(host)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "host",
    [
        "evil.example", "evil.example:8750", "127.0.0.1.evil.example:8750", "localhost.evil.example:8750", "127.0.0.1",
        "127.0.0.1:8751", "192.168.1.4:8750", "0.0.0.0:8750", "", ":8750", "localhost:8750@evil.example",
        "evil.example#localhost:8750", "localhost:8750/x", "localhost:", "localhost:99999", "localhost:٨٧٥٠",
        "127.1:8750", "2130706433:8750", "[::ffff:192.168.1.4]:8750", "localhost :8750", "[::1:8750",
        "xn--localhost:8750", "localhost.:8750",
    ],
)  # fmt: skip
def test_any_other_name_is_turned_away(pages: Any, host: str) -> None:
    if host.isascii():
        reply = pages.get("/api/plans", headers={"host": host})
        assert reply.status_code == 421, host
        assert "trailer" not in reply.text
    assert not Guard(None, RULES).known(host)  # type: ignore[arg-type]


def test_where_others_may_come_numbers_and_names_told_are_known() -> None:
    guard = Guard(None, Rules("token", 8750, frozenset({"line-3"}), far=True))  # type: ignore[arg-type]
    assert guard.known("192.168.1.4:8750")
    assert guard.known("line-3:8750")
    assert not guard.known("evil.example:8750")


CHANGES = [
    ("PUT", "/api/plan/trailer"), ("POST", "/api/plans"), ("POST", "/api/check"), ("POST", "/api/edit"),
    ("POST", "/api/answer"), ("POST", "/api/versions/trailer"), ("DELETE", "/api/versions/trailer?label=x"),
    ("POST", "/api/compare"), ("POST", "/api/runs"), ("DELETE", "/api/runs/x"),
]  # fmt: skip


@pytest.mark.parametrize(("method", "path"), CHANGES)
@pytest.mark.parametrize("token", ["", "wrong", "a-token-of-the-test", "a-token-of-the-tests2", "é"])
def test_no_change_without_the_token(pages: Any, method: str, path: str, token: str) -> None:
    before = pages.get("/api/plan/trailer").json()
    body = {"name": "trailer", "text": "[plan]\n", "stamp": before["stamp"], "label": "x"}
    header = {"x-linewright-token": token.encode()}
    assert pages.ask(method, path, body, headers=header).status_code == 403
    assert pages.get("/api/plan/trailer").json() == before


@pytest.mark.parametrize(
    "origin",
    ["http://evil.example", "null", "http://localhost:8751", "https://127.0.0.1:8750", "http://127.0.0.1", "file://"],
)  # fmt: skip
def test_no_request_from_another_page(pages: Any, origin: str) -> None:
    assert pages.get("/api/plan/trailer", headers={"origin": origin}).status_code == 403
    body = {"name": "trailer", "text": ""}
    assert pages.ask("POST", "/api/check", body, headers={"origin": origin}).status_code == 403


def test_our_own_page_may_ask(pages: Any) -> None:
    headers = {"origin": f"http://{HOST}", "sec-fetch-site": "same-origin", "sec-fetch-mode": "cors"}
    assert pages.get("/api/plan/trailer", headers=headers).status_code == 200


def test_what_the_browser_says_of_the_asker_counts(pages: Any) -> None:
    for site in ("cross-site", "same-site"):
        asked = {"sec-fetch-site": site, "sec-fetch-mode": "no-cors", "sec-fetch-dest": "script"}
        for path in ("/", "/api/plan/trailer", "/static/base.css", "/plan/trailer", "/print/sheets/trailer"):
            assert pages.get(path, headers=asked).status_code == 403, path
        framed = {"sec-fetch-site": site, "sec-fetch-mode": "navigate", "sec-fetch-dest": "iframe"}
        assert pages.get("/", headers=framed).status_code == 403
        led = {"sec-fetch-site": site, "sec-fetch-mode": "navigate", "sec-fetch-dest": "document"}
        assert pages.get("/", headers=led).status_code == 200
        assert pages.get("/api/plan/trailer", headers=led).status_code == 403


@pytest.mark.parametrize("method", ["PATCH", "OPTIONS", "TRACE", "CONNECT", "FOO"])
def test_other_methods_are_refused(pages: Any, method: str) -> None:
    assert pages.ask(method, "/api/plan/trailer").status_code == 405


@pytest.mark.parametrize(
    "path", ["/", "/plan/trailer", "/plan/none", "/api/plans", "/api/none", "/palette.css", "/static/none", "/none"]
)
def test_every_reply_holds_the_browser_to_the_policy(pages: Any, path: str) -> None:
    headers = pages.get(path).headers
    assert headers["content-security-policy"] == POLICY
    assert "unsafe" not in POLICY
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert "access-control-allow-origin" not in headers


def test_pages_hold_nothing_that_the_policy_forbids(pages: Any) -> None:
    for path in ("/", "/plan/trailer", "/plan/none"):
        page = pages.get(path).text
        for forbidden in ("<style", " style=", "onclick", "onload", "javascript:", "<script>", "http://", "https://"):
            assert forbidden not in page, f"{path}: {forbidden}"


def test_a_body_too_long_is_refused_whatever_it_says_of_itself(pages: Any) -> None:
    long = {"name": "trailer", "text": "#" * 6_000_000}
    assert pages.ask("POST", "/api/check", long).status_code == 413
    medium = {"name": "trailer", "text": "#" * 2_500_000}
    assert pages.ask("POST", "/api/check", medium).status_code == 413

    async def drip() -> Any:
        for _ in range(100):
            yield b" " * 100_000

    headers = {"content-type": "application/json"}
    reply = pages.ask("POST", "/api/check", headers=headers, content=drip())
    assert reply.status_code == 413


@pytest.mark.parametrize(
    "body",
    [
        b"", b"{", b"[]", b'"x"', b"null", b"\xff\xfe", b"[" * 100_000, b'{"name":NaN,"text":""}', b'{"name":1}',
        b'{"name":"trailer","text":["a"]}', b'{"name":"trailer","text":"\\ud800"}', b'{"name":"trailer"}',
        b'{"name":{"$ne":1},"text":""}',
    ],
)  # fmt: skip
def test_what_is_no_request_is_refused_in_words(pages: Any, body: bytes) -> None:
    headers = {"content-type": "application/json"}
    reply = pages.ask("POST", "/api/check", headers=headers, content=body)
    assert reply.status_code == 400
    assert reply.json()["error"]


def test_a_form_of_another_site_is_no_request(pages: Any) -> None:
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"):
        reply = pages.ask("POST", "/api/check", headers={"content-type": kind}, content=b'{"name":"trailer","text":""}')
        assert reply.status_code == 415


def test_the_whole_server_listens_to_this_machine_only() -> None:
    assert is_loopback("127.0.0.1")
    assert not is_loopback("0.0.0.0")
    assert not is_loopback("works.example")


def test_where_others_reach_the_port_a_key_is_asked_for(tmp_path: Path, open_pages: Callable[..., Any]) -> None:
    rules = Rules("token", 8750, frozenset({"works"}), far=True, key="the-key")
    pages = open_pages(tmp_path, rules, "works:8750")
    assert pages.get("/").status_code == 403
    assert pages.get("/?key=wrong").status_code == 403
    assert pages.get("/", headers={"cookie": "linewright-key=wrong"}).status_code == 403
    token = {"x-linewright-token": "token"}
    assert pages.ask("POST", "/api/plans?key=the-key", {"name": "a", "text": ""}, headers=token).status_code == 403
    reply = pages.get("/?key=the-key")
    assert reply.status_code == 303
    assert reply.headers["location"] == "/"
    for word in ("httponly", "samesite=strict"):
        assert word in reply.headers["set-cookie"].lower()
    assert pages.get("/").status_code == 200
    assert pages.ask("POST", "/api/plans", {"name": "a", "text": "[plan]"}, headers=token).status_code == 201
