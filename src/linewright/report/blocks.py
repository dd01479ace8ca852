"""What a section of the report is made of, apart from how it is set: the page and the paper show the same blocks.

A block is plain data. ``parts.block`` turns it into HTML; ``papers`` sets it on paper.
"""

from __future__ import annotations

from dataclasses import dataclass

from linewright.base.cautions import Caution
from linewright.base.problems import Problem
from linewright.base.results import Table
from linewright.plan.model import Plan
from linewright.report.telling import Chapter


@dataclass(frozen=True, slots=True)
class Grid:
    """A table; the row whose first cell is ``total`` is set apart. Nothing where it has no rows."""

    table: Table
    total: str = ""


@dataclass(frozen=True, slots=True)
class Picture:
    """The chart of this name; nothing where there is none."""

    name: str


@dataclass(frozen=True, slots=True)
class ProcessMap:
    """The process map of a plan, with the operations that limit the rate ringed."""

    plan: Plan
    limits: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Drawing:
    """A finished SVG picture, the same in ``strips`` that fit on paper, and the words for those who do not see it."""

    svg: str
    strips: tuple[str, ...]
    about: str


@dataclass(frozen=True, slots=True)
class Note:
    """A small remark."""

    text: str


@dataclass(frozen=True, slots=True)
class Listing:
    """A titled list of sentences; nothing without any."""

    title: str
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Telling:
    """Every operation told in order."""

    chapters: tuple[Chapter, ...]


@dataclass(frozen=True, slots=True)
class Warned:
    """A caution."""

    caution: Caution


Block = Grid | Picture | ProcessMap | Drawing | Note | Listing | Telling | Warned


def listing(title: str, texts: tuple[str, ...] | list[str]) -> Listing:
    """A titled list."""
    return Listing(title, tuple(texts))


def warnings(found: tuple[Problem, ...]) -> Listing:
    """Warnings of the plan."""
    return Listing("Warnings", tuple(str(problem) for problem in found))
