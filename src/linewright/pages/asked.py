"""The body of a request as plain data, each field of the form that it must have."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, NoReturn

from starlette.requests import Request

from linewright.pages.guard import TooLongError
from linewright.pages.limits import LARGEST_BODY, LARGEST_TEXT
from linewright.pages.refused import RefusedError


class Asked:
    """What a request asks for."""

    def __init__(self, data: Mapping[str, Any]) -> None:
        self._data = data

    def text(self, key: str, default: str | None = None) -> str:
        """A text."""
        value = self._data.get(key, default)
        if not isinstance(value, str):
            raise RefusedError(400, f'"{key}" must be a text')
        try:
            size = len(value.encode())
        except UnicodeEncodeError:
            raise RefusedError(400, f'"{key}" holds half a letter') from None
        if size > LARGEST_TEXT:
            raise RefusedError(413, f"a plan has at most {LARGEST_TEXT / 1e6:.0f} MB")
        return value

    def yes(self, key: str) -> bool:
        """Whether something is asked for; not, where nothing is said."""
        value = self._data.get(key, False)
        if not isinstance(value, bool):
            raise RefusedError(400, f'"{key}" must be true or false')
        return value

    def number(self, key: str, default: float, least: float, most: float) -> float:
        """A number, brought into what is allowed."""
        value = self._data.get(key, default)
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise RefusedError(400, f'"{key}" must be a number')
        return float(min(max(value, least), most))

    def table(self, key: str) -> dict[str, Any]:
        """A table of more; empty where nothing is said."""
        value = self._data.get(key, {})
        if not isinstance(value, dict):
            raise RefusedError(400, f'"{key}" must be a table')
        return value

    def has(self, key: str) -> bool:
        """Whether a field was sent."""
        return self._data.get(key) is not None

    def words(self, key: str) -> list[str]:
        """A list of texts."""
        value = self._data.get(key, [])
        if not isinstance(value, list) or not all(isinstance(word, str) for word in value):
            raise RefusedError(400, f'"{key}" must be a list of texts')
        return value

    def part(self, key: str) -> Asked:
        """A table of more, asked in its turn."""
        return Asked(self.table(key))


async def asked(request: Request) -> Asked:
    """The body of a request. Raises RefusedError where it is too long or no table of JSON."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().casefold()
    if kind != "application/json":
        raise RefusedError(415, "what is sent must be application/json")
    try:
        body = await request.body()
    except TooLongError:
        raise RefusedError(413, f"a request has at most {LARGEST_BODY / 1e6:.0f} MB") from None
    try:
        data = json.loads(body, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise RefusedError(400, "what is sent is no JSON") from None
    if not isinstance(data, dict):
        raise RefusedError(400, "what is sent must be a table")
    return Asked(data)


def _no_number(word: str) -> NoReturn:
    raise ValueError(word)
