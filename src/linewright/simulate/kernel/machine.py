"""LLVM: from text to machine code in memory or on disk, and from there to a function that can be called.

The optimiser may inline and reorder, but no operation on real numbers is merged with another or left out, so machine
code gives the bits that plain Python gives.
"""

from __future__ import annotations

import ctypes
import os
from functools import cache
from typing import Any

import llvmlite
import llvmlite.binding as llvm

from linewright.simulate.kernel.translate import LIBRARY

OPTIMISE = 2
"""LLVM's level; a third takes longer and gains nothing, one less costs a twentieth of the speed."""
LOOPS = ("loop_vectorization", "slp_vectorization", "loop_unrolling", "loop_interleaving")
"""What is left out: it doubles the time to compile, and the kernel's loops follow lists, a few turns each."""


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


def load(code: bytes, name: str, kind: Any) -> Any:
    """The function ``name`` of some machine code, as a ctypes function of ``kind``."""
    machine = _machine()
    for known in LIBRARY:
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
