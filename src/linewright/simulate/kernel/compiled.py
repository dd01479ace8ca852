"""The kernel as machine code, or as it is written.

The kernel's modules are plain Python. For speed ``machine_code`` makes a compiled twin of every function that ``enter``
reaches and one C function on top; its machine code is kept on disk, under a stamp of the kernel's source text. With
``LINEWRIGHT_NO_JIT=1`` (or numba's own NUMBA_DISABLE_JIT) the same functions run as they stand, on lists that check
every index, and give the same bits: that is how memory safety is tested.
"""

from __future__ import annotations

import ctypes
import hashlib
import os
from functools import cache
from importlib import import_module
from pathlib import Path
from types import FunctionType
from typing import Any

from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.run import enter
from linewright.simulate.kernel.together import door_compiler

PACKAGE = "linewright.simulate.kernel"


def without_compiler() -> bool:
    """Whether the environment asks for plain Python."""
    return any(os.environ.get(name, "0") not in ("", "0") for name in ("LINEWRIGHT_NO_JIT", "NUMBA_DISABLE_JIT"))


def source_stamp() -> int:
    """A number that changes whenever the kernel's source does."""
    digest = hashlib.blake2b(digest_size=7)
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    return int.from_bytes(digest.digest(), "big")


def _twin(function: FunctionType, made: dict[FunctionType, Any], pipeline: Any) -> Any:
    """A compiled copy of a kernel function, calling compiled copies of the kernel functions that it calls.

    Its types are those that it is annotated with, so that it is compiled once and not for each kind of constant.
    """
    njit: Any = import_module("numba").njit

    if function not in made:
        names = dict(function.__globals__)
        for name in function.__code__.co_names:
            value = names.get(name)
            if isinstance(value, FunctionType) and value.__module__.startswith(PACKAGE):
                names[name] = _twin(value, made, pipeline)
        copy = FunctionType(function.__code__, names, function.__name__, function.__defaults__)
        options = {"error_model": "numpy", "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
        compiled = njit(**options, pipeline_class=pipeline)(copy)
        compiled.compile(_signature(function))
        compiled.disable_compile()
        made[function] = compiled
    return made[function]


def _signature(function: FunctionType) -> Any:
    """The argument types of a kernel function, as annotated."""
    types: Any = import_module("numba").types

    kinds = {
        "Whole": types.CPointer(types.int64), "Real": types.CPointer(types.float64),
        "int": types.int64, "float": types.float64, "bool": types.boolean,
    }  # fmt: skip
    return tuple(kinds[kind] for name, kind in function.__annotations__.items() if name != "return")


def _door(stamp: int) -> FunctionType:
    """The C function's text; the stamp is part of it, so that stale machine code is never used."""

    def door(m: Any, x: Any, h: Any, log: Any, task: int, until: int, budget: int) -> int:
        m[r.STAMP] = stamp
        return enter(m, x, h, log, task, until, budget)

    assert isinstance(door, FunctionType)
    return door


@cache
def machine_code() -> Any:
    """The kernel's entry as a C function (ctypes), which lets go of Python's lock while it runs."""
    numba: Any = import_module("numba")
    types = numba.types

    whole, real = types.CPointer(types.int64), types.CPointer(types.float64)
    signature = types.int64(whole, real, whole, whole, types.int64, types.int64, types.int64)
    names = dict(globals())
    text = _door(source_stamp())
    door = FunctionType(text.__code__, names, "door", None, text.__closure__)

    def build_inside(pipeline: Any) -> None:
        assert isinstance(enter, FunctionType)
        names["enter"] = _twin(enter, {}, pipeline)

    def compile_door(**options: Any) -> Any:
        return numba.cfunc(signature, error_model="numpy", **options)(door).ctypes

    try:
        return compile_door(cache=True, pipeline_class=door_compiler(build_inside))
    except Exception:  # another numba has its parts elsewhere, or nothing may be written: the same code, made in full
        build_inside(import_module("numba.core.compiler").Compiler)
        return compile_door()


def pointer(array: Any, kind: Any) -> Any:
    """The bare address of an array, as ctypes passes it."""
    return array.ctypes.data_as(ctypes.POINTER(kind))
