"""Functions that run as they are written for short lines, and as machine code for long ones.

Making the search's machine code takes half a minute the first time ever, and loading numba a second each time; most
lines of a hundred tasks are balanced sooner than that. So nothing is compiled until a line is long, or its search long.
"""

from __future__ import annotations

from collections.abc import Callable
from types import FunctionType
from typing import Any, Generic, ParamSpec, TypeVar

import numpy as np

P = ParamSpec("P")
R = TypeVar("R")
SHORT = 100
"""Tasks up to which a line is made ready in plain Python."""


class _Way:
    """How kernels run now."""

    compiled = False


def use_machine_code() -> None:
    """From now on every kernel is compiled before it runs."""
    _Way.compiled = True


class Kernel(Generic[P, R]):
    """A function over arrays of numbers. ``heavy`` ones are compiled always: only long work calls them.

    ``plain`` gives the same and is run in its stead while nothing is compiled.
    """

    def __init__(
        self, function: Callable[P, R], plain: Callable[..., Any] | None, heavy: bool, options: dict[str, Any]
    ) -> None:
        self.function, self.heavy, self.options = function, heavy, options
        self.plain: Callable[P, R] = plain or function
        self._twin: Any = None
        self.__doc__, self.__name__ = function.__doc__, function.__name__
        self.__module__, self.__wrapped__ = function.__module__, function

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
        """Run it, one way or the other; both give the same."""
        if self.heavy or _Way.compiled:
            answer: R = self.twin(*args, **kwargs)
            return answer
        with np.errstate(over="ignore"):  # words of 64 bits wrap round
            return self.plain(*args, **kwargs)

    @property
    def twin(self) -> Any:
        """Its compiled copy, which calls compiled copies."""
        if self._twin is None:
            from numba import njit

            function = self.function
            assert isinstance(function, FunctionType)
            names = dict(function.__globals__)
            for name in function.__code__.co_names:
                if isinstance(names.get(name), Kernel):
                    names[name] = names[name].twin
            copy = FunctionType(function.__code__, names, function.__name__, function.__defaults__)
            self._twin = njit(cache=True, nogil=True, **self.options)(copy)
        return self._twin


def kernel(
    *, plain: Callable[..., Any] | None = None, heavy: bool = False, **options: Any
) -> Callable[[Callable[P, R]], Kernel[P, R]]:
    """Make a kernel of a function; ``options`` are numba's."""

    def wrap(function: Callable[P, R]) -> Kernel[P, R]:
        return Kernel(function, plain, heavy, options)

    return wrap
