"""LLVM: from text to machine code in memory or on disk, and from there to a function that can be called.

The optimiser may inline and reorder, but no operation on real numbers is merged with another or left out, so machine
code gives the bits that plain Python gives. Run as a file it reads text and writes machine code, which is how code is
made in a process of its own; so it imports nothing of Linewright.
"""

from __future__ import annotations

import ctypes
import os
import signal
import subprocess
import sys
from collections.abc import Iterable
from functools import cache
from typing import Any

import llvmlite
import llvmlite.binding as llvm

OPTIMISE = 2
"""LLVM's level; a third takes longer and gains nothing, one less costs a twentieth of the speed."""
LOOPS = ("loop_vectorization", "slp_vectorization", "loop_unrolling", "loop_interleaving")
"""What is left out: it doubles the time to compile, and the kernel's loops follow lists, a few turns each."""
PATIENCE = 120.0
"""Seconds after which a process that makes machine code is given up."""


@cache
def _processor() -> tuple[str, str]:
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    return llvm.get_host_cpu_name(), llvm.get_host_cpu_features().flatten()


def target() -> str:
    """What machine code depends on besides its text: LLVM's version and the processor."""
    return "\0".join([llvmlite.__version__, llvm.get_default_triple(), *_processor()])


def _machine() -> Any:
    processor, features = _processor()
    triple = llvm.Target.from_default_triple()
    return triple.create_target_machine(processor, features, OPTIMISE, codemodel="jitdefault", jit=True)


def build(text: str) -> bytes:
    """Machine code of LLVM's text."""
    machine = _machine()
    module = llvm.parse_assembly(text)
    module.triple, module.data_layout = machine.triple, str(machine.target_data)
    module.verify()
    options = llvm.create_pipeline_tuning_options(speed_level=OPTIMISE)
    for name in LOOPS:
        setattr(options, name, False)
    passes = llvm.create_pass_builder(machine, options)
    passes.getModulePassManager().run(module, passes)
    return bytes(machine.emit_object(module))


def build_apart(text: str) -> bytes | None:
    """What ``build`` gives, made by a process of its own: what LLVM needs for it is given back when that ends.

    It runs beside all else that this process does. None where no process can be begun, or where it fails.
    """
    if not sys.executable:
        return None
    command = [sys.executable, "-P", __file__]
    try:
        made = subprocess.run(
            command,
            input=text.encode(),
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=PATIENCE,
            check=True,
        )
    except (OSError, subprocess.SubprocessError):
        return None
    return made.stdout or None


def load(code: bytes, name: str, kind: Any, library: Iterable[str]) -> Any:
    """The function ``name`` of some machine code, as a ctypes function of ``kind``; ``library``: what it calls of C."""
    machine = _machine()
    for known in library:
        llvm.add_symbol(known, _address(known))
    engine = llvm.create_mcjit_compiler(llvm.parse_assembly(""), machine)
    engine.add_object_file(llvm.ObjectFileRef.from_data(code))
    engine.finalize_object()
    door = kind(engine.get_function_address(name))
    door.engine = engine  # it owns the code
    return door


def _address(name: str) -> int:
    """Where a function of the C library lies."""
    library = ctypes.CDLL("ucrtbase" if os.name == "nt" else None)
    return int(ctypes.cast(getattr(library, name), ctypes.c_void_p).value or 0)


def main() -> None:
    """Text comes in, machine code goes out. Whoever asked may be told to stop (Ctrl-C), and still wants the code."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    sys.stdout.buffer.write(build(sys.stdin.buffer.read().decode()))


if __name__ == "__main__":
    main()
