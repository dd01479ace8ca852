"""What the working processes do: check a text, edit it, answer it, print it. Everything comes back ready to be sent."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linewright.base.problems import Problem, ProblemsError
from linewright.pages.refused import RefusedError

if TYPE_CHECKING:
    from linewright.answer.model import Answer
    from linewright.plan.model import Plan

_KEPT = 4
_answers: dict[tuple[str, str], Answer] = {}


def confine(root: str) -> None:
    """From now on plans may name files below ``root`` only, and no others on this machine."""
    from linewright.plan.beside import confine as only_below

    only_below(Path(root))


def as_json(data: Any) -> bytes:
    """Data as JSON; a number that is none would be a fault of ours and must not reach a page."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode("utf-8", "replace")


def told(problem: Problem, file: Path) -> dict[str, Any]:
    """A problem as the page marks it; ``file`` only where it is not in the plan itself, and never a whole path."""
    data = problem.to_dict()
    elsewhere = problem.file not in (None, str(file))
    data["file"] = str(problem.file).removeprefix(f"{file.parent}/") if elsewhere else None
    return data


def checked(file: Path, text: str) -> tuple[Plan | None, list[dict[str, Any]]]:
    """The plan in a text, and its problems."""
    from linewright.plan.load import check_text

    plan, problems = check_text(text, file)
    return plan, [told(problem, file) for problem in problems]


def ready() -> bytes:
    """Nothing, but what is imported for it stays imported."""
    import linewright.answer.ask
    import linewright.report.charts
    import linewright.report.sections  # noqa: F401

    return b"{}"


def check(file: str, text: str) -> bytes:
    """Problems of reading, the tables and the names."""
    from linewright.pages.outlined import outlined

    path = Path(file)
    _, problems = checked(path, text)
    return as_json({"problems": problems, **outlined(text, path.parent)})


def fields() -> bytes:
    """What may be written where."""
    from linewright.pages.outlined import fields_of

    return as_json(fields_of())


def answer(file: str, text: str, opened: list[str] | None = None) -> bytes:
    """What the fast engines answer, question by question; of those not in ``opened`` only in short."""
    from linewright.pages.answered import answered

    found = _sound(file, text)
    return as_json({**answered(found, opened), "warnings": [told(p, Path(file)) for p in found.problems]})


def _answer(file: Path, text: str) -> tuple[Answer | None, list[dict[str, Any]]]:
    """The answer to a text, or None and the problems that stand in its way; the last few are kept."""
    from linewright.answer import answer as ask

    key = (str(file), text)
    plan, problems = checked(file, text)
    if plan is None:
        return None, problems
    kept = _answers.get(key)
    if kept is not None and kept.plan.fingerprint == plan.fingerprint:
        return kept, []
    try:
        found = ask(plan)
    except ProblemsError as wrong:
        return None, [*problems, *(told(p, file) for p in wrong.problems)]
    _answers[key] = found
    while len(_answers) > _KEPT:
        del _answers[next(iter(_answers))]
    return found, []


def _sound(file: str, text: str) -> Answer:
    """The answer to a text. Raises RefusedError, with the problems, where there is none."""
    found, problems = _answer(Path(file), text)
    if found is None:
        raise RefusedError(422, "the plan has problems", problems=problems)
    return found


WORKS: Mapping[str, Callable[..., bytes]] = {
    "ready": ready, "check": check, "fields": fields, "answer": answer,
}  # fmt: skip
"""Everything that may be asked of a working process, by name."""
