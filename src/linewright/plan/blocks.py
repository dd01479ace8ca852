"""A plan's text as blocks of lines, one a header with what stands below it, so that whole tables can be put in, taken
out and moved while every comment stays where its author would look for it.

A comment right above a header, without an empty line between, belongs to the header.
"""

from __future__ import annotations

from dataclasses import dataclass

from linewright.plan.outline import BROKEN
from linewright.plan.places import scan_headers


@dataclass(frozen=True, slots=True)
class Block:
    """The lines [``top``, ``end``) of a header at ``head`` (counted from 0): its comments, itself, what it holds."""

    path: str
    top: int
    head: int
    end: int


class Blocks:
    """The blocks of a valid TOML text with plain line ends."""

    def __init__(self, text: str) -> None:
        self.lines = text.split("\n")
        self.where, heads = scan_headers(text)
        tops = [self._top(line - 1, heads[k - 1][0] if k else 0) for k, (line, _) in enumerate(heads)]
        ends = [*tops[1:], len(self.lines)]
        self.found = [
            Block(path, top, line - 1, self._content_end(line, end))
            for (line, path), top, end in zip(heads, tops, ends, strict=True)
        ]

    def _top(self, head: int, least: int) -> int:
        top = head
        while top > least and self._is_comment(top - 1):
            top -= 1
        return top

    def _content_end(self, first: int, end: int) -> int:
        """Behind the last line that is neither empty nor a comment."""
        while end > first and (not self.lines[end - 1].strip() or self._is_comment(end - 1)):
            end -= 1
        return end

    def _is_comment(self, at: int) -> bool:
        """Whether a line is its author's comment; one that only stands for a line that cannot be read is not."""
        line = self.lines[at].lstrip()
        return line.startswith("#") and not line.startswith(BROKEN)

    def of(self, path: str) -> Block | None:
        """The block of a header."""
        return next((block for block in self.found if block.path == path), None)

    def whole(self, path: str) -> list[Block]:
        """The block of a path and those of all tables below it."""
        below = (f"{path}.", f"{path}[")
        return [block for block in self.found if block.path == path or block.path.startswith(below)]

    def span(self, path: str) -> tuple[int, int] | None:
        """First and last line of all that belongs to a path, where it stands together; else None."""
        own = self.whole(path)
        at = [self.found.index(block) for block in own]
        if not own or at != list(range(at[0], at[0] + len(at))):
            return None
        return own[0].top, own[-1].end

    def with_line(self, after: int, line: str) -> str:
        """The text with a line put in at a place."""
        return "\n".join([*self.lines[:after], line, *self.lines[after:]])

    def with_block(self, after: int, block: str) -> str:
        """The text with a block put in at a place, an empty line before it and after it."""
        before, behind = self.lines[:after], self.lines[after:]
        gap = [""] if any(line.strip() for line in before) and before[-1].strip() else []
        tail = [""] if behind and behind[0].strip() else []
        return "\n".join([*before, *gap, *block.split("\n"), *tail, *(behind or [""])])

    def without(self, spans: list[tuple[int, int]]) -> str:
        """The text without some lines; where empty lines would meet, one of them goes too."""
        lines = list(self.lines)
        for first, end in sorted(spans, reverse=True):
            del lines[first:end]
            while first < len(lines) and not lines[first].strip() and (first == 0 or not lines[first - 1].strip()):
                if len(lines) == 1:
                    break
                del lines[first]
        return "\n".join(lines if not lines or not lines[-1] else [*lines, ""])

    def swapped(self, one: tuple[int, int], other: tuple[int, int]) -> str:
        """The text with two stretches of lines in each other's place."""
        (a, b), (c, d) = sorted((one, other))
        at = self.lines
        return "\n".join([*at[:a], *at[c:d], *at[b:c], *at[a:b], *at[d:]])
