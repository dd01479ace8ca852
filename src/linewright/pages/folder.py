"""The plans of a folder: listed, read with a stamp of their bytes, saved whole with a backup, and their versions.

Texts go to the browser with plain line ends; a file keeps the line ends and the byte order mark that it has.
"""

from __future__ import annotations

import hashlib
import re
import threading
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from linewright.base.problems import ProblemsError
from linewright.pages import names
from linewright.pages.limits import DEEPEST_FOLDER, LARGEST_TEXT, MOST_PLANS, MOST_VERSIONS
from linewright.pages.refused import RefusedError
from linewright.plan.load import read_text, text_in
from linewright.plan.save import ChangedError, replace_file

_HEAD = re.compile(r"^[ \t]*(?:\[[ \t]*[\"']?plan[\"']?[ \t]*[.\]]|plan[ \t]*[.=])", re.MULTILINE)
MARK = "\ufeff"


@dataclass(frozen=True, slots=True)
class Listed:
    """A plan of the folder: its name, what it calls itself and makes, when it was last changed, what is wrong."""

    name: str
    title: str
    makes: str
    changed: str
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    """A text and the stamp of the bytes it was read from."""

    text: str
    stamp: str


class Folder:
    """The plans below one folder of the disk."""

    def __init__(self, root: str | Path) -> None:
        self.root = Path(root).resolve()
        self._saving = threading.Lock()

    def listed(self) -> list[Listed]:
        """Every plan, by name; a file that cannot be read is there with its problem."""
        found = []
        for file in self._files(self.root, 0):
            name = file.relative_to(self.root).as_posix().removesuffix(names.END)
            try:
                names.file_of(self.root, name)
            except RefusedError:
                continue
            one = _listed(file, name)
            if one is not None:
                found.append(one)
            if len(found) == MOST_PLANS:
                break
        return found

    def _files(self, folder: Path, depth: int) -> Iterator[Path]:
        try:
            entries = sorted(folder.iterdir(), key=lambda entry: (entry.is_dir(), entry.name.casefold()))
        except OSError:
            return
        for entry in entries:
            if entry.name.startswith("."):
                continue
            if entry.suffix == names.END and entry.is_file():
                yield entry
            elif depth < DEEPEST_FOLDER and entry.is_dir() and not entry.is_symlink() and not _of_versions(entry):
                yield from self._files(entry, depth + 1)

    def file(self, name: str) -> Path:
        """The file of a plan that is there."""
        file = names.file_of(self.root, name)
        if not file.is_file():
            raise RefusedError(404, f'there is no plan "{name}" in this folder')
        return file

    def read(self, name: str) -> Text:
        """The text of a plan as it stands on the disk."""
        return _read(self.file(name))

    def save(self, name: str, text: str, stamp: str, *, force: bool = False) -> dict[str, Any]:
        """Write a plan whole, the old one kept beside it with ``.bak`` behind its name.

        Refused with what stands on the disk where that is no longer what ``stamp`` says. With ``force`` it is written
        in any case, and what stood there is kept as a version.
        """
        _check_size(text)
        file = names.file_of(self.root, name)
        with self._saving, _told(file):
            if not file.exists():
                if not force:
                    raise RefusedError(409, "the file is no longer there", text=None, stamp="")
                replace_file(file, text)
                return {"stamp": _stamp(file.read_bytes()), "backup": None, "kept": None}
            there = file.read_bytes()
            kept = None
            if _stamp(there) != stamp:
                if not force:
                    now = _read(file)
                    raise RefusedError(409, "the file was changed by another program", text=now.text, stamp=now.stamp)
                kept = self._keep_other(name, there)
            try:
                replace_file(file, _as_in(there, text), only_over=there)
            except ChangedError:
                now = _read(file)
                raise RefusedError(
                    409, "the file was changed by another program", text=now.text, stamp=now.stamp
                ) from None
            return {"stamp": _stamp(file.read_bytes()), "backup": f"{file.name}.bak", "kept": kept}

    def begin(self, name: str, text: str) -> dict[str, Any]:
        """Write a plan that is not there yet."""
        _check_size(text)
        file = names.file_of(self.root, name)
        with self._saving, _told(file):
            if file.exists():
                raise RefusedError(409, f'there is a plan "{name}" already')
            if not file.parent.is_dir():
                raise RefusedError(404, "there is no such folder")
            replace_file(file, text)
            return {"stamp": _stamp(file.read_bytes())}

    def _keep_other(self, name: str, data: bytes) -> str:
        """Keep what another program wrote as a version, before it is written over."""
        label = datetime.now().strftime("on disk %Y-%m-%d %H.%M.%S.%f")
        file = names.version_of(self.root, name, label)
        file.parent.mkdir(exist_ok=True)
        file.write_bytes(data)
        return label

    def versions(self, name: str) -> list[dict[str, str]]:
        """Label and time of every version kept of a plan, the newest first."""
        self.file(name)
        folder = names.folder_of_versions(self.root, name)
        if not folder.is_dir():
            return []
        with _told(folder):
            files = [f for f in folder.iterdir() if f.suffix == names.END and f.is_file() and not f.is_symlink()]
            files.sort(key=lambda f: f.stat().st_mtime_ns, reverse=True)
        return [{"label": f.name.removesuffix(names.END), "saved": _time(f)} for f in files]

    def version(self, name: str, label: str) -> Text:
        """The text of a version."""
        file = names.version_of(self.root, name, label)
        if not file.is_file():
            raise RefusedError(404, f'there is no version "{label}" of this plan')
        return _read(file)

    def keep(self, name: str, label: str, text: str, *, force: bool = False) -> dict[str, str]:
        """Keep a text as a version."""
        _check_size(text)
        self.file(name)
        file = names.version_of(self.root, name, label)
        with self._saving, _told(file):
            if file.exists() and not force:
                raise RefusedError(409, f'there is a version "{label}" already')
            file.parent.mkdir(exist_ok=True)
            if len(list(file.parent.iterdir())) >= MOST_VERSIONS and not file.exists():
                raise RefusedError(409, f"there are {MOST_VERSIONS} versions already; take some out")
            file.write_text(text, encoding="utf-8", newline="")
        return {"label": label, "saved": _time(file)}

    def drop(self, name: str, label: str) -> None:
        """Take a version out."""
        file = names.version_of(self.root, name, label)
        with self._saving, _told(file):
            if not file.is_file():
                raise RefusedError(404, f'there is no version "{label}" of this plan')
            file.unlink()


def _of_versions(folder: Path) -> bool:
    return folder.name.casefold().endswith(names.VERSIONS)


@contextmanager
def _told(file: Path) -> Iterator[None]:
    """What the system refuses, in words."""
    try:
        yield
    except OSError as wrong:
        raise RefusedError(403, f"{file.name}: {wrong.strerror or 'the system refuses'}") from None


def _listed(file: Path, name: str) -> Listed | None:
    try:
        changed, text = _time(file), read_text(file)
    except ProblemsError as wrong:
        return Listed(name, name.rpartition("/")[2], "", _time(file), wrong.problems[0].what)
    except OSError:
        return None
    if not _HEAD.search(text):
        return None
    told = _texts(text, "plan")
    title, makes = told.get("name", "") or name.rpartition("/")[2], told.get("makes", "")
    product = (_texts(text, f"items.{makes}").get("name", "") if makes else "") or makes.replace("_", " ")
    return Listed(name, title[:200], product[:200], changed)


def _texts(text: str, table: str) -> dict[str, str]:
    """The texts of one table of a plan, without reading the plan whole; none where it cannot be read."""
    try:
        found: Any = tomllib.loads(_table(text, table))
        for key in table.split(".", 1):
            found = found.get(key, {})
        return {key: value for key, value in found.items() if isinstance(value, str)}
    except (tomllib.TOMLDecodeError, ValueError, RecursionError, AttributeError):
        return {}


def _table(text: str, table: str) -> str:
    """The lines of one table of a plan; empty where it has none of its own."""
    match = re.search(rf"^[ \t]*\[[ \t]*{re.escape(table)}[ \t]*\][^\n]*\n", text, re.MULTILINE)
    if match is None:
        return ""
    end = re.search(r"^[ \t]*\[", text[match.end() :], re.MULTILINE)
    return text[match.start() : match.end() + end.start()] if end is not None else text[match.start() :]


def _read(file: Path) -> Text:
    try:
        if file.stat().st_size > LARGEST_TEXT:
            raise RefusedError(413, f"this plan has more than {LARGEST_TEXT / 1e6:.0f} MB")
        data = file.read_bytes()
        text = text_in(data, file)
    except ProblemsError as wrong:
        problem = wrong.problems[0]
        raise RefusedError(422, problem.what, line=problem.line) from None
    except OSError as wrong:
        raise RefusedError(403, f"{file.name}: {wrong.strerror or 'the system refuses'}") from None
    return Text(text.replace("\r\n", "\n"), _stamp(data))


def _as_in(there: bytes, text: str) -> str:
    """The text with the line ends and the byte order mark that the file has."""
    lines, windows = there.count(b"\n"), there.count(b"\r\n")
    text = text.replace("\r\n", "\n").removeprefix(MARK)
    text = text.replace("\n", "\r\n") if 2 * windows > lines else text
    return MARK + text if there.startswith(b"\xef\xbb\xbf") else text


def _check_size(text: str) -> None:
    try:
        size = len(text.encode())
    except UnicodeEncodeError:
        raise RefusedError(400, "this text holds half a letter, which no file can hold") from None
    if size > LARGEST_TEXT:
        raise RefusedError(413, f"a plan has at most {LARGEST_TEXT / 1e6:.0f} MB")


def _stamp(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:32]


def _time(file: Path) -> str:
    return datetime.fromtimestamp(file.stat().st_mtime, UTC).isoformat(timespec="seconds")
