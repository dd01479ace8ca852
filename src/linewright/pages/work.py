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
HAS_PROBLEMS = "the plan has problems"
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


def plan_of(file: str, text: str, label: str = "") -> Plan:
    """The plan in a text. Raises RefusedError, with the problems, where it has errors."""
    plan, problems = checked(Path(file), text)
    if plan is None:
        raise RefusedError(422, f"{label}: {HAS_PROBLEMS}" if label else HAS_PROBLEMS, problems=problems)
    return plan


def get_ready(lane: str) -> None:
    """Import what a lane needs, so that the first request does not wait for it."""
    if lane == "quick":
        import linewright.pages.edited
        import linewright.pages.outlined
    else:
        import linewright.answer.ask
        import linewright.report.charts
        import linewright.report.sections  # noqa: F401


def ready() -> bytes:
    """Nothing: whoever asks knows then that the process has begun."""
    return b"{}"


def check(file: str, text: str) -> bytes:
    """Problems of reading, the tables and the names."""
    from linewright.pages.outlined import outlined

    path = Path(file)
    _, problems = checked(path, text)
    return as_json({"problems": problems, **outlined(text, path.parent)})


def edit(file: str, text: str, change: dict[str, Any]) -> bytes:  # noqa: ARG001
    """The text after one change as a table makes it, and the line where it was made."""
    from linewright.pages.edited import edited

    return as_json(edited(text, change))


def fields() -> bytes:
    """What may be written where."""
    from linewright.pages.outlined import fields_of

    return as_json(fields_of())


def answer(file: str, text: str, opened: list[str] | None = None) -> bytes:
    """What the fast engines answer, question by question; of those not in ``opened`` only in short."""
    from linewright.pages.answered import answered

    found, problems = _answer(Path(file), text)
    if found is None:
        return as_json({"error": HAS_PROBLEMS, "problems": problems})
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
        raise RefusedError(422, HAS_PROBLEMS, problems=problems)
    return found


def compare(file: str, a: dict[str, str], b: dict[str, str]) -> bytes:
    """What the fast engines say of two texts, side by side."""
    from linewright.answer.compared import differences
    from linewright.report import compared

    answers = []
    for one in (a, b):
        found, problems = _answer(Path(file), one["text"])
        if found is None:
            return as_json({"error": f"{one['label']}: {HAS_PROBLEMS}", "problems": problems})
        answers.append(found)
    return as_json(compared.as_data(differences(answers[0], answers[1], (a["label"], b["label"]))))


def paper(file: str, text: str, what: str) -> bytes:
    """A paper of a text."""
    from linewright.pages.printed import printed

    return printed(plan_of(file, text), what)


def charting() -> bytes:
    """The charting library for the browser, which calls it itself."""
    from linewright.report import drawing

    if not drawing.can_draw():
        raise RefusedError(404, drawing.HINT)
    return drawing.library("globalThis.vegaEmbed = vegaEmbed;").encode()


WORKS: Mapping[str, Callable[..., bytes]] = {
    "ready": ready, "check": check, "edit": edit, "fields": fields, "answer": answer, "compare": compare,
    "charting": charting, "paper": paper,
}  # fmt: skip
"""Everything that may be asked of a working process, by name."""
