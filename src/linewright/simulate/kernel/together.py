"""All kernel functions compiled as one unit, instead of each by itself with all that it calls.

Numba optimises and emits machine code for every function on its own, the functions it calls included each time; for a
hundred functions on top of each other that is most of the compile time. Here they share one library, which is optimised
and emitted once, when the door on top is done. Nothing but the door is seen from outside, so the optimiser may drop
what is inlined everywhere and the checks for exceptions that nobody raises.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any


def door_compiler(build_inside: Callable[[Any], None]) -> Any:
    """The compiler class for the door. ``build_inside`` compiles the functions inside with the class it is given.

    It is called only where no machine code is found on disk.
    """
    make_function = import_module("numba")._dynfunc.make_function
    parts: Any = import_module("numba.core.compiler")
    machinery: Any = import_module("numba.core.compiler_machinery")
    untyped: Any = import_module("numba.core.untyped_passes")
    typed: Any = import_module("numba.core.typed_passes")
    steps = (  # of numba's own pipeline what plain loops over bare memory need; the rest serves arrays and closures
        untyped.TranslateByteCode, untyped.FixupArgs, untyped.IRProcessing, untyped.ReconstructSSA,
        typed.NopythonTypeInference, typed.PreLowerStripPhis, typed.IRLegalization, typed.NativeLowering,
    )  # fmt: skip
    library: list[Any] = []

    @machinery.register_pass(mutates_CFG=True, analysis_only=False)
    class KeepForLater(machinery.LoweringPass):  # type: ignore[misc]
        """Make a lowered function known to those that call it, without emitting machine code."""

        _name = "linewright_keep_for_later"

        def __init__(self) -> None:
            machinery.LoweringPass.__init__(self)

        def run_pass(self, state: Any) -> bool:
            lowered = state["cr"]
            name = lowered.fndesc.qualname.split(".")[-1]
            handle = make_function(lowered.fndesc.lookup_module(), name, name, 0, lowered.env, (state.library,))
            state.targetctx.insert_user_function(handle, lowered.fndesc)
            state["cr"] = lowered._replace(cfunc=handle)
            return True

    class Common(parts.Compiler):  # type: ignore[misc]
        """Compiles into the common library."""

        def __init__(
            self, typingctx: Any, targetctx: Any, _: Any, args: Any, return_type: Any, flags: Any, names: Any
        ) -> None:
            if not library:
                library.append(targetctx.codegen().create_library("linewright_kernel"))
                library[0].enable_object_caching()
                _keep_inside(library[0])
            flags.noalias = True  # the four arrays are four
            super().__init__(typingctx, targetctx, library[0], args, return_type, flags, names)

    class Inside(Common):
        """Compiles into the common library and leaves the machine code for later."""

        def define_pipelines(self) -> list[Any]:
            self.state.flags.no_compile = True
            manager = machinery.PassManager("linewright_kernel")
            for step in (*steps, KeepForLater, typed.NoPythonBackend):
                manager.add_pass(step, step.__name__)
            manager.finalize()
            return [manager]

    class Door(Common):
        """Compiles the function on top, and before it those inside."""

        def define_pipelines(self) -> list[Any]:
            build_inside(Inside)
            pipelines: list[Any] = super().define_pipelines()
            return pipelines

    return Door


def _keep_inside(library: Any) -> None:
    """Before the common library is optimised, hide all of its functions but the door."""
    optimise = library._optimize_final_module

    def first_hide() -> None:
        for function in library._final_module.functions:
            if not function.is_declaration and not function.name.startswith("cfunc."):
                function.linkage = "internal"
        optimise()

    library._optimize_final_module = first_hide
