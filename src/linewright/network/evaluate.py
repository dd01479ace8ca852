"""Times as written become distributions in seconds.

Plain forms are read here. A time from a study file is fitted by ``worktime``; one that follows from physics is asked
of ``physics.models``, or of a function registered here, and a model that nobody knows is refused by name.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from linewright.base.distributions import Distribution, Shape, fixed, spread
from linewright.base.problems import Problem, Problems, did_you_mean
from linewright.plan.beside import beside
from linewright.plan.model import Duration

Physics = Callable[[Mapping[str, object]], Distribution]
"""conditions as written -> time in seconds; raises ProblemsError."""

PHYSICS: dict[str, Physics] = {}
"""Models registered beside those of ``physics.models``, by the name a plan calls them; they come first."""

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
            return _studied(duration, folder)
        assert duration.physics is not None
        model = PHYSICS.get(duration.physics)
        if model is not None:
            return model(duration.conditions)
        return _followed(duration.physics, duration.conditions, path, problems)
    except ProblemsError as wrong:
        problems.extend(_placed(problem, path, duration) for problem in wrong.problems)
    return fixed(0.0)


def _followed(name: str, conditions: Mapping[str, object], path: str, problems: Problems) -> Distribution:
    """A time that follows from physics; a range of validity that was left is a warning."""
    from linewright.physics.models import MODELS, time_of

    if name not in MODELS:
        known = {*MODELS, *PHYSICS}
        problems.error(path, f'a time by "{name}" is not yet played', hint=did_you_mean(name, known))
        return fixed(0.0)
    found = time_of(name, conditions)
    for said in found.warnings:
        problems.warn(f"{path}.{name}", said)
    return fixed(found.timed.seconds)


def flowing(duration: Duration | None, path: str, problems: Problems) -> Duration | None:
    """The duration as a rate, where it is a model that works without pause; else as it was."""
    if duration is None or duration.physics is None:
        return duration
    from linewright.base.problems import ProblemsError
    from linewright.base.units import Quantity
    from linewright.physics.models import rate_of

    try:
        rate = rate_of(duration.physics, duration.conditions)
    except ProblemsError:
        return duration  # evaluating it names the problems
    if rate is None:
        return duration
    evaluate(duration, path, problems)  # for its warnings
    return Duration(rate=Quantity(rate, "mass/time", f"{rate * 3.6:.4g} t/h"))


def _studied(duration: Duration, folder: str) -> Distribution:
    assert duration.study is not None
    file = beside(folder, duration.study)
    try:
        stamp = file.stat()
    except OSError:
        return _fit(file, duration.element, 0, 0)
    return _fit(file, duration.element, stamp.st_mtime_ns, stamp.st_size)


@lru_cache(maxsize=256)
def _fit(file: Path, element: str | None, _written: int, _size: int) -> Distribution:
    """The fit of a study; kept while the file stays as it is, because a sweep compiles a plan many times."""
    from linewright.worktime.timestudy import study_distribution

    return study_distribution(file, element)


def _placed(problem: Problem, path: str, duration: Duration) -> Problem:
    """A problem of a study or of physics, at the field that asked."""
    if duration.study is None:
        return replace(problem, path=f"{path}.{problem.path}" if problem.path else path)
    if problem.path == "element":
        return replace(problem, path=f"{path}.element" if duration.element is not None else f"{path}.study")
    where = [duration.study] if problem.file is None else []
    said = ": ".join([*where, *([problem.path] if problem.path else []), problem.what])
    return replace(problem, path=f"{path}.study", what=said)
