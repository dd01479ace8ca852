"""Names of plans and versions in a folder, as they come from a browser, to files that surely lie inside it.

A name is the path of a plan below the folder without its ending, parts joined by "/". Every name is taken for hostile:
what no file of ours would be called is refused, on every system alike, and what is left is followed through symbolic
links and must still lie inside.
"""

from __future__ import annotations

from pathlib import Path

from linewright.pages.limits import LONGEST_NAME
from linewright.pages.refused import RefusedError

END = ".toml"
VERSIONS = ".versions"
_FORBIDDEN = set('\\:*?"<>|')
_DEVICES = {"con", "prn", "aux", "nul", *(f"{kind}{n}" for kind in ("com", "lpt") for n in "0123456789¹²³")}


def part_of_name(part: str) -> str:
    """One part of a name. Raises RefusedError for what is no plain file name on every system."""
    odd = any(ord(c) < 32 or ord(c) == 127 or c in _FORBIDDEN or 0xD800 <= ord(c) <= 0xDFFF for c in part)
    if odd or not part or part.startswith(".") or part != part.strip(" ") or part.endswith("."):
        raise RefusedError(400, "this is no name of a plan")
    if part.partition(".")[0].strip().casefold() in _DEVICES:
        raise RefusedError(400, "this name stands for a device on some systems")
    return part


def file_of(root: Path, name: str) -> Path:
    """The file of a plan, links followed; it need not exist. Raises RefusedError where it is not inside ``root``."""
    if len(name) > LONGEST_NAME or len(name.encode("utf-8", "replace")) > LONGEST_NAME:
        raise RefusedError(400, "this name is too long")
    parts = [part_of_name(part) for part in name.split("/")]
    if any(part.casefold().endswith(VERSIONS) for part in parts[:-1]):
        raise RefusedError(400, "this folder holds the versions of a plan")
    return inside(root, root.joinpath(*parts[:-1], parts[-1] + END))


def folder_of_versions(root: Path, name: str) -> Path:
    """The folder that holds the versions of a plan; it need not exist."""
    file_of(root, name)
    *above, last = name.split("/")
    return inside(root, root.joinpath(*above, last + VERSIONS))


def version_of(root: Path, name: str, label: str) -> Path:
    """The file of a version; it need not exist."""
    if len(label.encode("utf-8", "replace")) > 80 or "/" in label:
        raise RefusedError(400, "this is no label of a version: at most 80 letters, without /")
    return inside(root, folder_of_versions(root, name) / (part_of_name(label) + END))


def inside(root: Path, path: Path) -> Path:
    """The path with its links followed. Raises RefusedError where it leaves ``root``."""
    try:
        found = path.resolve()
        home = root.resolve()
    except (OSError, RuntimeError, ValueError):
        raise RefusedError(400, "this name leads nowhere") from None
    if not found.is_relative_to(home):
        raise RefusedError(403, "this name leads out of the folder")
    return found
