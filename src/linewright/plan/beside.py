"""Files that a plan names: tables and studies beside it. Where plans come from a page, none may lie elsewhere.

A person who names a plan on the command line may let it read what they may read. Pages show what a plan reads to
whoever sees them, so they confine every plan to one folder first, symbolic links followed.
"""

from __future__ import annotations

from pathlib import Path


class OutsideError(ValueError):
    """A file outside the folder to which plans are confined."""


class _Confined:
    root: Path | None = None


def confine(root: Path | None) -> None:
    """From now on, in this process, plans may name files below ``root`` only; None lifts it."""
    _Confined.root = root.resolve() if root is not None else None


def beside(folder: str | Path, name: str) -> Path:
    """The file that a plan in ``folder`` names.

    Raises OutsideError where it is not below the folder to which plans are confined, ValueError for no name at all.
    """
    file = Path(folder) / name
    if _Confined.root is not None:
        try:
            inside = file.resolve().is_relative_to(_Confined.root)
        except (OSError, RuntimeError):
            inside = False
        if not inside:
            raise OutsideError("it lies outside the folder of the plans")
    return file
