"""The kernel as machine code, or as it is written.

The kernel's modules are plain Python. For speed ``machine_code`` has them translated and made into machine code as one
unit with one door; that takes some seconds of a process of its own, and is kept on disk under a stamp of the kernel's
source text and of the processor. With ``LINEWRIGHT_NO_JIT=1`` (or numba's NUMBA_DISABLE_JIT) the same functions run as
they stand, on lists that check every index, and give the same bits: that is how memory safety is tested.
"""

from __future__ import annotations

import ctypes
import hashlib
import os
import sys
from functools import cache
from pathlib import Path
from threading import Lock, Thread
from types import FunctionType
from typing import Any

from platformdirs import user_cache_dir

from linewright.simulate.kernel.run import enter
from linewright.simulate.kernel.translate import LIBRARY, translate

DOOR = "linewright_kernel"
CHECKED = 32
"""Bytes of checksum before the machine code on disk."""


def without_compiler() -> bool:
    """Whether the environment asks for plain Python."""
    return any(os.environ.get(name, "0") not in ("", "0") for name in ("LINEWRIGHT_NO_JIT", "NUMBA_DISABLE_JIT"))


def source_stamp(target: str) -> str:
    """A word that changes whenever the kernel's source or the target does."""
    digest = hashlib.blake2b(target.encode() + sys.version.encode(), digest_size=12)
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def machine_code() -> Any:
    """The kernel's entry as a C function (ctypes), which lets go of Python's lock while it runs."""
    with _MAKING:
        return _machine_code()


def make_early() -> None:
    """Begin to make the machine code, beside other work: LLVM has its own process, or does not need Python's lock."""
    if not without_compiler():
        Thread(target=machine_code).start()


_MAKING = Lock()


@cache
def _machine_code() -> Any:
    from linewright.simulate.kernel import machine

    assert isinstance(enter, FunctionType)
    name = f"{DOOR}-{source_stamp(machine.target())}.o"
    code = _from_disk(name)
    if code is None:
        text = translate(enter, DOOR)
        code = machine.build_apart(text) or machine.build(text)  # what is wrong with the text is told here
        _to_disk(name, code)
    whole, real, number = ctypes.POINTER(ctypes.c_int64), ctypes.POINTER(ctypes.c_double), ctypes.c_int64
    kind = ctypes.CFUNCTYPE(number, whole, real, whole, whole, number, number, number)
    return machine.load(code, DOOR, kind, LIBRARY)


def _folders() -> list[Path]:
    """Where machine code may be kept: where the environment says, or beside the source, or with the user's caches."""
    named = [os.environ[name] for name in ("LINEWRIGHT_CACHE_DIR", "NUMBA_CACHE_DIR") if os.environ.get(name)]
    if named:
        return [Path(named[0])]
    return [Path(__file__).parent / "__pycache__", Path(user_cache_dir("linewright"))]


def _from_disk(name: str) -> bytes | None:
    """Machine code kept under this name, if it is whole."""
    for folder in _folders():
        try:
            kept = (folder / name).read_bytes()
        except OSError:
            continue
        if _checksum(kept[CHECKED:]) == kept[:CHECKED]:
            return kept[CHECKED:]
    return None


def _to_disk(name: str, code: bytes) -> None:
    """Keep machine code in the first folder that can be written; where none can it is made anew next time."""
    for folder in _folders():
        try:
            folder.mkdir(parents=True, exist_ok=True)
            draft = folder / f"{name}.{os.getpid()}"
            draft.write_bytes(_checksum(code) + code)
            draft.replace(folder / name)
        except OSError:
            continue
        return


def _checksum(code: bytes) -> bytes:
    return hashlib.blake2b(code, digest_size=CHECKED).digest()


def pointer(array: Any, kind: Any) -> Any:
    """The bare address of an array, as ctypes passes it."""
    return array.ctypes.data_as(ctypes.POINTER(kind))
