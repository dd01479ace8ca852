"""Names that lead astray, and saving that loses nothing."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from linewright.pages.folder import Folder
from linewright.pages.names import file_of
from linewright.pages.refused import RefusedError

PLAN = '[plan]\nname = "Stool"\nmoney = "EUR"\n'
OUTSIDE = "outside the folder"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    folder = tmp_path / "works"
    (folder / "line").mkdir(parents=True)
    (folder / "stool.toml").write_text(PLAN)
    (folder / "line" / "bench.toml").write_text(PLAN)
    (folder / ".hidden.toml").write_text(PLAN)
    (folder / "pyproject.toml").write_text('[project]\nname = "x"\n')
    (tmp_path / "secret.toml").write_text(f'{PLAN}note = "{OUTSIDE}"\n')
    (tmp_path / "works2").mkdir()
    (tmp_path / "works2" / "secret.toml").write_text(f'{PLAN}note = "{OUTSIDE}"\n')
    return folder


@pytest.fixture
def own(root: Path, open_pages: Callable[..., Any]) -> Any:
    return open_pages(root)


ASTRAY = [
    "../secret", "line/../../secret", "/etc/passwd", "//etc/passwd", "../works2/secret", "..", ".", "", "line/",
    "/stool",
    "line//bench", "./stool", "stool\0", "stool.toml\0", "C:/secret", "C:secret", "\\\\host\\share\\x", "..\\secret",
    "line\\bench", "stool:stream", "con", "NUL", "com1.x", "line/aux", "stool.", "stool ", " stool", ".hidden",
    "line/.hidden", "a" * 300, "é" * 150, "x\ny", "x\ty", "x\x7f", "?", "*", "a|b", "\ud800", "stool.versions/x",
    "COM¹", "%2e%2e/secret",
]  # fmt: skip


@pytest.mark.parametrize("name", ASTRAY)
def test_a_name_that_leads_astray_is_refused(root: Path, name: str) -> None:
    folder = Folder(root)
    with pytest.raises(RefusedError):
        folder.read(name)
    with pytest.raises(RefusedError):
        folder.save(name, "x", "", force=True)
    with pytest.raises(RefusedError):
        folder.version("stool", name or "..")
    assert sorted(p.name for p in root.parent.iterdir()) == ["secret.toml", "works", "works2"]


@pytest.mark.parametrize(
    "path",
    [
        "/api/plan/../secret", "/api/plan/..%2fsecret", "/api/plan/%2e%2e/secret", "/api/plan/%2e%2e%2fsecret",
        "/api/plan/..%5csecret", "/api/plan/%252e%252e%252fsecret", "/api/plan/%2fetc%2fpasswd",
        "/api/plan/line/../../secret",
        "/api/plan/stool%00", "/api/plan/%c0%ae%c0%ae/secret", "/static/../app.py", "/static/%2e%2e/app.py",
        "/static/..%2fapp.py", "/static//etc/passwd", "/static/%00", "/plan/..%2fsecret", "/print/report/..%2fsecret",
        "/api/versions/..%2fsecret", "/api/versions/stool?label=..%2f..%2fsecret",
    ],
)  # fmt: skip
def test_an_address_that_leads_astray_shows_nothing(own: Any, path: str) -> None:
    reply = own.get(path)
    assert 400 <= reply.status_code < 500
    assert OUTSIDE not in reply.text
    assert "make_app" not in reply.text


def test_links_that_lead_out_are_not_followed(root: Path) -> None:
    (root / "out.toml").symlink_to(root.parent / "secret.toml")
    (root / "away").symlink_to(root.parent / "works2")
    (root / "round").symlink_to(root)
    (root / "loop.toml").symlink_to(root / "loop.toml")
    (root / "stool.versions").symlink_to(root.parent / "works2")
    folder = Folder(root)
    assert {one.name for one in folder.listed()} == {"stool", "line/bench"}
    for name in ("out", "away/secret", "loop"):
        with pytest.raises(RefusedError):
            folder.read(name)
        with pytest.raises(RefusedError):
            folder.save(name, "x", "", force=True)
    for attempt in (lambda: folder.keep("stool", "a", "x"), lambda: folder.version("stool", "secret")):
        with pytest.raises(RefusedError):
            attempt()
    assert OUTSIDE in (root.parent / "secret.toml").read_text()
    assert [p.name for p in (root.parent / "works2").iterdir()] == ["secret.toml"]


def test_only_plans_are_listed(root: Path) -> None:
    (root / "broken.toml").write_text("[plan]\nname = ")
    (root / "binary.toml").write_bytes(b"\0\1")
    found = {one.name: one for one in Folder(root).listed()}
    assert set(found) == {"stool", "broken", "binary", "line/bench"}
    assert found["stool"].title == "Stool"
    assert found["binary"].problem


def test_names_of_all_the_world(root: Path) -> None:
    folder = Folder(root)
    for name in ("Möbel 3", "椅子", "стул", "line/a-b_c (2)", "100 %", "it's", "emoji 🪑"):
        folder.begin(name, PLAN)
        assert folder.read(name).text == PLAN
        assert file_of(root, name).is_file()
    assert {"Möbel 3", "椅子"} <= {one.name for one in folder.listed()}


def test_names_of_all_the_world_through_the_address(own: Any) -> None:
    for name in ("Möbel 3", "100 %", "椅子"):
        assert own.post("/api/plans", {"name": name, "text": PLAN}).status_code == 201
        assert own.get(f"/api/plan/{quote(name)}").json()["text"] == PLAN
        assert own.get(f"/plan/{quote(name)}").status_code == 200
        assert own.post("/api/plans", {"name": name, "text": PLAN}).status_code == 409


def test_saving_is_whole_and_keeps_the_old_one(root: Path) -> None:
    folder = Folder(root)
    first = folder.read("stool")
    done = folder.save("stool", PLAN + "# more\n", first.stamp)
    assert (root / "stool.toml").read_text() == PLAN + "# more\n"
    assert (root / "stool.toml.bak").read_text() == PLAN
    assert done["stamp"] == folder.read("stool").stamp
    assert {p.name for p in root.iterdir()} == {
        "stool.toml", "stool.toml.bak", "line", ".hidden.toml", "pyproject.toml"
    }  # fmt: skip


def test_a_file_changed_meanwhile_is_not_written_over(root: Path) -> None:
    folder = Folder(root)
    stamp = folder.read("stool").stamp
    (root / "stool.toml").write_text(PLAN + "# theirs\n")
    with pytest.raises(RefusedError) as refused:
        folder.save("stool", PLAN + "# mine\n", stamp)
    assert refused.value.status == 409
    assert refused.value.more["text"] == PLAN + "# theirs\n"
    assert (root / "stool.toml").read_text() == PLAN + "# theirs\n"
    done = folder.save("stool", PLAN + "# mine\n", stamp, force=True)
    assert (root / "stool.toml").read_text() == PLAN + "# mine\n"
    assert folder.version("stool", done["kept"]).text == PLAN + "# theirs\n"
    # Told what is there now, one may also save over it by its own stamp.
    assert folder.save("stool", PLAN, done["stamp"])["kept"] is None


def test_a_file_taken_away_meanwhile_is_told(root: Path) -> None:
    folder = Folder(root)
    stamp = folder.read("stool").stamp
    (root / "stool.toml").unlink()
    with pytest.raises(RefusedError) as refused:
        folder.save("stool", PLAN, stamp)
    assert (refused.value.status, refused.value.more["text"]) == (409, None)
    folder.save("stool", PLAN, stamp, force=True)
    assert folder.read("stool").text == PLAN


def test_a_file_that_changes_between_looking_and_writing_is_kept(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from linewright.plan import save

    folder = Folder(root)
    stamp = folder.read("stool").stamp
    fsync = os.fsync

    def somebody_writes(handle: int) -> None:
        fsync(handle)
        (root / "stool.toml").write_text(PLAN + "# theirs\n")

    monkeypatch.setattr(save.os, "fsync", somebody_writes)
    with pytest.raises(RefusedError) as refused:
        folder.save("stool", PLAN + "# mine\n", stamp)
    assert refused.value.status == 409
    assert (root / "stool.toml").read_text() == PLAN + "# theirs\n"


def test_line_ends_and_the_mark_of_a_file_stay(root: Path) -> None:
    folder = Folder(root)
    windows = b"\xef\xbb\xbf" + PLAN.replace("\n", "\r\n").encode()
    (root / "stool.toml").write_bytes(windows)
    found = folder.read("stool")
    assert found.text == PLAN
    folder.save("stool", found.text, found.stamp)
    assert (root / "stool.toml").read_bytes() == windows


@pytest.mark.parametrize("data", [b"\xff\xfe\x00", b"PK\x03\x04rest", b"", b"caf\xe9"])
def test_what_is_no_text_is_told(root: Path, data: bytes) -> None:
    (root / "stool.toml").write_bytes(data)
    with pytest.raises(RefusedError) as refused:
        Folder(root).read("stool")
    assert refused.value.status == 422


def test_what_the_system_refuses_is_told(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from linewright.pages import folder as module

    def read_only(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    folder = Folder(root)
    stamp = folder.read("stool").stamp
    monkeypatch.setattr(module, "replace_file", read_only)
    with pytest.raises(RefusedError, match="Permission denied"):
        folder.save("stool", PLAN, stamp)
    (root / "stool.versions").write_text("a file where a folder should be")
    with pytest.raises(RefusedError):
        folder.keep("stool", "a", PLAN)


def test_versions_are_plain_files_beside_the_plan(root: Path) -> None:
    folder = Folder(root)
    folder.keep("stool", "as it is", PLAN)
    assert (root / "stool.versions" / "as it is.toml").read_text() == PLAN
    assert [v["label"] for v in folder.versions("stool")] == ["as it is"]
    with pytest.raises(RefusedError, match="already"):
        folder.keep("stool", "as it is", "other")
    folder.keep("stool", "as it is", PLAN + "# b\n", force=True)
    assert folder.version("stool", "as it is").text == PLAN + "# b\n"
    assert {one.name for one in folder.listed()} == {"stool", "line/bench"}
    folder.drop("stool", "as it is")
    assert folder.versions("stool") == []
    with pytest.raises(RefusedError):
        folder.drop("stool", "as it is")


def test_an_empty_folder_says_how_to_begin(tmp_path: Path, open_pages: Callable[..., Any]) -> None:
    pages = open_pages(tmp_path)
    assert pages.get("/api/plans").json() == []
    assert "No plan" in pages.get("/").text


@pytest.mark.parametrize(
    ("tables", "makes"),
    [
        ('[items.boxed_boots]\nname = "pair of boots"\nunit = "pair"\n[items.lace]\nname = "lace"\n', "pair of boots"),
        ('[items.boxed_boots]\nunit = "pair"\n', "boxed boots"),
        ("", "boxed boots"),
        ("[items.boxed_boots]\nname = 12\n", "boxed boots"),
        ('[items.boxed_boots]\nname = "half\n', "boxed boots"),
    ],
)
def test_the_list_says_what_a_plan_makes_by_its_name(tmp_path: Path, tables: str, makes: str) -> None:
    (tmp_path / "boot.toml").write_text(f'{PLAN}makes = "boxed_boots"\n\n{tables}')
    (told,) = Folder(tmp_path).listed()
    assert (told.title, told.makes) == ("Stool", makes)
