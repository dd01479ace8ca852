"""Times as written become distributions in seconds.

Plain forms are read here. A time fitted from a study file, or one that follows from physics, is asked of the function
registered for it; a form that nobody has registered is refused by name, never ignored.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from linewright.base.distributions import Distribution, Shape, fixed, spread
from linewright.base.problems import Problems, did_you_mean
from linewright.plan.model import Duration

Study = Callable[[str, str | None, str], Distribution]
"""(file, element, folder of the plan) -> time in seconds; raises ProblemsError."""
Physics = Callable[[Mapping[str, object]], Distribution]
"""conditions as written -> time in seconds; raises ProblemsError."""

STUDIES: list[Study] = []
"""The reader of time studies; the last one registered is asked."""
PHYSICS: dict[str, Physics] = {}
"""Physics models by the name a plan calls them."""

_SHAPES = {
    "lognormal": Shape.LOGNORMAL,
    "exponential": Shape.EXPONENTIAL,
    "gamma": Shape.GAMMA,
    "normal": Shape.NORMAL,
    "uniform": Shape.UNIFORM,
}


def evaluate(duration: Duration | None, path: str, problems: Problems, folder: str = ".") -> Distribution:
    """A duration (not a rate) in seconds, without its ``each``; nothing written is a fixed zero.

    >>> from linewright.base.units import read_quantity
    >>> evaluate(Duration(fixed=read_quantity("4 min")), "time", Problems()).mean
    240.0
    """
    if duration is None:
        return fixed(0.0)
    if duration.fixed is not None:
        return _not_negative(duration.fixed.value, path, problems)
    if duration.mean is not None:
        return _spread(duration, path, problems)
    if duration.least is not None or duration.most is not None or duration.likely is not None:
        return _three_points(duration, path, problems)
    if duration.study is not None or duration.physics is not None:
        return _asked(duration, path, problems, folder)
    return fixed(0.0)


def _not_negative(value: float, path: str, problems: Problems) -> Distribution:
    if not 0 <= value < float("inf"):
        problems.error(path, "a time cannot be negative or unlimited", value=value, expected='a time such as "4 min"')
        return fixed(0.0)
    return fixed(value)


def _spread(duration: Duration, path: str, problems: Problems) -> Distribution:
    assert duration.mean is not None
    mean, cv = duration.mean.value, duration.cv or 0.0
    shape = _SHAPES.get(duration.shape)
    if shape is None:
        problems.error(
            f"{path}.shape", "no such shape", value=duration.shape, hint=did_you_mean(duration.shape, _SHAPES)
        )
        return fixed(0.0)
    if mean <= 0 or cv < 0:
        problems.error(
            path, "a mean time is above zero and its cv is not negative", value=f"mean {mean:g} s, cv {cv:g}"
        )
        return fixed(0.0)
    if shape is Shape.UNIFORM and cv * 3**0.5 > 1:
        problems.error(
            f"{path}.cv", "a uniform time of this cv would be negative at times", value=cv, expected="at most 0.57"
        )
        return fixed(mean)
    return spread(mean, cv, shape)


def _three_points(duration: Duration, path: str, problems: Problems) -> Distribution:
    points = (duration.least, duration.likely, duration.most)
    if duration.least is None or duration.most is None:
        problems.error(path, "a spread by points needs least and most", expected='{ least = "2 min", most = "4 min" }')
        return fixed(0.0)
    least, most = duration.least.value, duration.most.value
    likely = points[1].value if points[1] is not None else None
    if not 0 <= least <= (least if likely is None else likely) <= most:
        problems.error(path, "least, likely and most are not in order", value=f"{least:g}, {likely}, {most:g} s")
        return fixed(0.0)
    if least == most:
        return fixed(least)
    if likely is None:
        return Distribution(Shape.UNIFORM, least, most)
    return Distribution(Shape.TRIANGULAR, least, likely, most)


def _asked(duration: Duration, path: str, problems: Problems, folder: str) -> Distribution:
    from linewright.base.problems import ProblemsError

    try:
        if duration.study is not None:
            if STUDIES:
                return STUDIES[-1](duration.study, duration.element, folder)
            problems.error(path, "a time from a study is not yet played", value=duration.study)
            return fixed(0.0)
        assert duration.physics is not None
        model = PHYSICS.get(duration.physics)
        if model is not None:
            return model(duration.conditions)
        problems.error(
            path,
            f'a time by "{duration.physics}" is not yet played',
            hint=did_you_mean(duration.physics, PHYSICS) if PHYSICS else None,
        )
    except ProblemsError as wrong:
        for problem in wrong.problems:
            problems.error(f"{path}.{problem.path}", problem.what, value=problem.value, hint=problem.hint)
    return fixed(0.0)
