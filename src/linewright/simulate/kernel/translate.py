"""The kernel's functions as text for LLVM: what numba does for all of Python, for the small part that the kernel uses.

The kernel is written in whole numbers, real numbers and flat memory; there is nothing to infer and nothing that can be
raised. So each function is translated as it stands, in the types that it is annotated with, and whatever else it may
hold is refused with its line. Plain Python and machine code give the same bits: whole numbers are 64 bits, ``//`` and
``%`` round down, and no operation on real numbers is merged with another or left out.
"""

from __future__ import annotations

import ast
import inspect
import math
import struct
from collections.abc import Callable
from types import FunctionType, ModuleType
from typing import NamedTuple

WHOLE, REAL, TRUTH, NOTHING = "i64", "double", "i1", "void"
CELLS = {"Whole": WHOLE, "Real": REAL}
KINDS = {"int": WHOLE, "float": REAL, "bool": TRUTH, "None": NOTHING}
MATH = {"sqrt": "llvm.sqrt.f64", "fabs": "llvm.fabs.f64", "floor": "llvm.floor.f64"}
LIBRARY = {"log": 1, "log1p": 1, "exp": 1, "expm1": 1, "erf": 1, "erfc": 1, "lgamma": 1, "pow": 2}
"""Functions of the C library, with their number of arguments."""
ARITHMETIC = {ast.Add: "add", ast.Sub: "sub", ast.Mult: "mul"}
BITWISE = {ast.BitAnd: "and", ast.BitOr: "or", ast.BitXor: "xor", ast.LShift: "shl", ast.RShift: "ashr"}
ORDER = {ast.Eq: "eq", ast.NotEq: "ne", ast.Lt: "lt", ast.LtE: "le", ast.Gt: "gt", ast.GtE: "ge"}


class UntranslatableError(Exception):
    """The kernel holds something that this translator does not know."""


class Value(NamedTuple):
    """A number, or memory, in LLVM's words. ``of`` is what memory holds."""

    kind: str
    text: str
    of: str = ""


class Head(NamedTuple):
    """A function as its callers see it."""

    name: str
    parameters: tuple[tuple[str, str], ...]
    returns: str


def translate(entry: FunctionType, name: str) -> str:
    """LLVM's text of ``entry`` under the outside name ``name``, and of all functions that it reaches."""
    heads: dict[FunctionType, Head] = {}
    waiting: list[FunctionType] = []

    def head_of(function: FunctionType) -> Head:
        if function not in heads:
            heads[function] = _head(function, name if function is entry else f"f{len(heads)}.{function.__name__}")
            waiting.append(function)
        return heads[function]

    head_of(entry)
    bodies = []
    while waiting:
        function = waiting.pop()
        body = Body(function, heads[function], head_of)
        bodies.append(body.text("" if function is entry else "internal "))
    declared = [f"declare double @{known}(double)" for known in MATH.values()]
    declared += [f"declare double @{known}({', '.join(['double'] * n)})" for known, n in LIBRARY.items()]
    return "\n".join([*declared, *bodies])


def _head(function: FunctionType, name: str) -> Head:
    kinds = dict(function.__annotations__)
    returns = str(kinds.pop("return", "None"))
    if returns.startswith("tuple["):
        returns = "{" + ", ".join(KINDS[part.strip()] for part in returns[6:-1].split(",")) + "}"
    else:
        returns = KINDS[returns]
    unknown = [kind for kind in kinds.values() if kind not in KINDS and kind not in CELLS]
    if unknown or len(kinds) != function.__code__.co_argcount:
        raise UntranslatableError(
            f"{function.__module__}.{function.__name__}: parameters {unknown or 'without a type'}"
        )
    return Head(name, tuple(kinds.items()), returns)


class Body:
    """One function being translated: variables live in slots of the stack, which LLVM turns into registers."""

    def __init__(self, function: FunctionType, head: Head, head_of: Callable[[FunctionType], Head]) -> None:
        self.function, self.head, self.head_of = function, head, head_of
        source, self.first_line = inspect.getsourcelines(function)
        self.names = function.__globals__
        self.slots: list[str] = []
        self.lines: list[str] = []
        self.variables: dict[str, Value] = {}
        self.loops: list[tuple[str, str]] = []
        self.count = 0
        for parameter, kind in head.parameters:
            if kind in CELLS:
                self.variables[parameter] = Value("ptr", f"%{parameter}", CELLS[kind])
            else:
                self.assign(parameter, Value(KINDS[kind], f"%{parameter}"))
        definition = ast.parse("".join(source)).body[0]
        assert isinstance(definition, ast.FunctionDef)
        self.block(definition.body)
        self.say("ret void" if head.returns == NOTHING else "unreachable")

    def text(self, linkage: str) -> str:
        """The whole function."""
        parameters = ", ".join(
            f"ptr noalias %{name}" if kind in CELLS else f"{KINDS[kind]} %{name}" for name, kind in self.head.parameters
        )
        start = f'define {linkage}{self.head.returns} @"{self.head.name}"({parameters}) nounwind {{'
        return "\n".join([start, *self.slots, *self.lines, "}"])

    def refuse(self, node: ast.AST, why: str) -> UntranslatableError:
        """What is wrong where."""
        line = self.first_line + getattr(node, "lineno", 1) - 1
        return UntranslatableError(f"{self.function.__code__.co_filename}:{line}: {why}")

    def say(self, line: str) -> None:
        """One more instruction."""
        self.lines.append(line)

    def new(self, kind: str, instruction: str) -> Value:
        """The value of an instruction."""
        self.count += 1
        self.say(f"%t.{self.count} = {instruction}")
        return Value(kind, f"%t.{self.count}")

    def label(self) -> str:
        """A name for a block."""
        self.count += 1
        return f"b.{self.count}"

    def begin(self, label: str) -> None:
        """A block begins here; what came before falls into it."""
        self.say(f"br label %{label}")
        self.say(f"{label}:")

    def leave(self, instruction: str) -> None:
        """Go elsewhere; what follows is not reached from here."""
        self.say(instruction)
        self.say(f"{self.label()}:")

    def slot(self, kind: str) -> str:
        """A place on the stack."""
        self.count += 1
        self.slots.append(f"%s.{self.count} = alloca {kind}")
        return f"%s.{self.count}"

    # --- statements ---------------------------------------------------------------------------------------------

    def block(self, statements: list[ast.stmt]) -> None:
        """Statement after statement."""
        for statement in statements:
            self.statement(statement)

    def statement(self, node: ast.stmt) -> None:
        """One statement."""
        match node:
            case ast.Assign(targets=[target], value=value):
                self.store(target, self.values(target, value))
            case ast.AnnAssign(target=target, value=ast.expr() as value):
                self.store(target, [self.value(value)])
            case ast.AugAssign(target=target, op=op, value=value):
                self.add_to(node, target, op, value)
            case ast.Expr(value=ast.Constant()) | ast.Pass():
                pass
            case ast.Expr(value=ast.Call() as call):
                self.call(call)
            case ast.Return(value=None):
                self.leave("ret void")
            case ast.Return(value=ast.expr() as value):
                self.give_back(value)
            case ast.If(test=test, body=body, orelse=other):
                self.choose(test, body, other)
            case ast.While(test=test, body=body, orelse=[]):
                self.loop_while(test, body)
            case ast.For(target=ast.Name(id=name), iter=ast.Call(func=ast.Name(id="range"), args=limits), orelse=[]):
                self.loop_over(name, limits, node.body)
            case ast.Break():
                self.leave(f"br label %{self.loops[-1][1]}")
            case ast.Continue():
                self.leave(f"br label %{self.loops[-1][0]}")
            case _:
                raise self.refuse(node, f"{type(node).__name__} is not translated")

    def values(self, target: ast.expr, value: ast.expr) -> list[Value]:
        """What is assigned: one value, or as many as the target has names."""
        if not isinstance(target, ast.Tuple):
            return [self.value(value)]
        if isinstance(value, ast.Tuple):
            return [self.value(part) for part in value.elts]
        whole = self.value(value)
        kinds = whole.kind.strip("{}").split(", ")
        return [self.new(kind, f"extractvalue {whole.kind} {whole.text}, {k}") for k, kind in enumerate(kinds)]

    def store(self, target: ast.expr, values: list[Value]) -> None:
        """Put values where they belong: into variables or memory."""
        targets = target.elts if isinstance(target, ast.Tuple) else [target]
        for one, value in zip(targets, values, strict=True):
            if isinstance(one, ast.Name):
                self.assign(one.id, value, one)
            elif isinstance(one, ast.Subscript):
                cell = self.cell(one)
                self.put(cell, self.turned(value, cell.of, one))
            else:
                raise self.refuse(one, "only names and cells are assigned to")

    def assign(self, name: str, value: Value, node: ast.AST | None = None) -> None:
        """Give a variable a value; its kind is that of its first one."""
        if name not in self.variables:
            self.variables[name] = Value("ptr", self.slot(value.kind), f"={value.kind}")
        variable = self.variables[name]
        if not variable.of.startswith("="):
            raise self.refuse(node or ast.Pass(), f"{name} is memory and is not assigned to")
        self.put(variable, self.turned(value, variable.of[1:], node or ast.Pass()))

    def put(self, where: Value, value: Value) -> None:
        """Store a value."""
        self.say(f"store {value.kind} {value.text}, ptr {where.text}")

    def add_to(self, node: ast.AugAssign, target: ast.expr, op: ast.operator, value: ast.expr) -> None:
        """``a += b`` and its like."""
        if isinstance(target, ast.Name):
            self.assign(target.id, self.compute(node, op, self.value(target), self.value(value)), node)
            return
        if not isinstance(target, ast.Subscript):
            raise self.refuse(node, "only names and cells are assigned to")
        cell = self.cell(target)
        before = self.new(cell.of, f"load {cell.of}, ptr {cell.text}")
        self.put(cell, self.turned(self.compute(node, op, before, self.value(value)), cell.of, node))

    def give_back(self, node: ast.expr) -> None:
        """Return a value, or several."""
        kind = self.head.returns
        if not isinstance(node, ast.Tuple):
            value = self.value(node)
            value = value if kind.startswith("{") else self.turned(value, kind, node)
            self.leave(f"ret {kind} {value.text}")
            return
        whole = "undef"
        for k, (part, wanted) in enumerate(zip(node.elts, kind.strip("{}").split(", "), strict=True)):
            one = self.turned(self.value(part), wanted, part)
            whole = self.new(kind, f"insertvalue {kind} {whole}, {wanted} {one.text}, {k}").text
        self.leave(f"ret {kind} {whole}")

    def choose(self, test: ast.expr, body: list[ast.stmt], other: list[ast.stmt]) -> None:
        """If, else."""
        yes, no, after = self.label(), self.label(), self.label()
        self.say(f"br i1 {self.truth(test).text}, label %{yes}, label %{no}")
        for label, statements in ((yes, body), (no, other)):
            self.say(f"{label}:")
            self.block(statements)
            self.say(f"br label %{after}")
        self.say(f"{after}:")

    def loop_while(self, test: ast.expr, body: list[ast.stmt]) -> None:
        """While."""
        again, inside, after = self.label(), self.label(), self.label()
        self.begin(again)
        self.say(f"br i1 {self.truth(test).text}, label %{inside}, label %{after}")
        self.say(f"{inside}:")
        self.loops.append((again, after))
        self.block(body)
        self.loops.pop()
        self.say(f"br label %{again}")
        self.say(f"{after}:")

    def loop_over(self, name: str, limits: list[ast.expr], body: list[ast.stmt]) -> None:
        """For over a range: start, end and step are worked out once; the variable keeps its last value."""
        step = 1
        if len(limits) == 3:
            step = ast.literal_eval(limits[2])
        bounds = [self.turned(self.value(limit), WHOLE, limit) for limit in limits[:2]]
        start, end = (Value(WHOLE, "0"), bounds[0]) if len(limits) == 1 else (bounds[0], bounds[1])
        counter = Value("ptr", self.slot(WHOLE))
        self.put(counter, start)
        again, inside, onward, after = self.label(), self.label(), self.label(), self.label()
        self.begin(again)
        now = self.new(WHOLE, f"load i64, ptr {counter.text}")
        more = self.new(TRUTH, f"icmp {'slt' if step > 0 else 'sgt'} i64 {now.text}, {end.text}")
        self.say(f"br i1 {more.text}, label %{inside}, label %{after}")
        self.say(f"{inside}:")
        self.assign(name, now)
        self.loops.append((onward, after))
        self.block(body)
        self.loops.pop()
        self.begin(onward)
        now = self.new(WHOLE, f"load i64, ptr {counter.text}")
        self.put(counter, self.new(WHOLE, f"add i64 {now.text}, {step}"))
        self.say(f"br label %{again}")
        self.say(f"{after}:")

    # --- expressions --------------------------------------------------------------------------------------------

    def value(self, node: ast.expr) -> Value:
        """The value of an expression."""
        match node:
            case ast.Constant(value=bool() | int() | float() as number):
                return constant(number)
            case ast.Name(id=name) if name in self.variables:
                variable = self.variables[name]
                if not variable.of.startswith("="):
                    return variable
                return self.new(variable.of[1:], f"load {variable.of[1:]}, ptr {variable.text}")
            case ast.Name() | ast.Attribute():
                return constant(self.known(node))
            case ast.Subscript():
                cell = self.cell(node)
                return self.new(cell.of, f"load {cell.of}, ptr {cell.text}")
            case ast.BinOp(left=left, op=op, right=right):
                return self.compute(node, op, self.value(left), self.value(right))
            case ast.UnaryOp(op=ast.Not(), operand=operand):
                return self.new(TRUTH, f"xor i1 {self.truth(operand).text}, 1")
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                value = self.number(self.value(operand))
                text = f"fneg double {value.text}" if value.kind == REAL else f"sub i64 0, {value.text}"
                return self.new(value.kind, text)
            case ast.UnaryOp(op=ast.Invert(), operand=operand):
                return self.new(WHOLE, f"xor i64 {self.turned(self.value(operand), WHOLE, operand).text}, -1")
            case ast.Compare(left=left, ops=ops, comparators=others):
                return self.compare(node, [self.value(part) for part in (left, *others)], ops)
            case ast.BoolOp(op=op, values=parts):
                return self.all_or_any(parts, isinstance(op, ast.And))
            case ast.IfExp(test=test, body=body, orelse=other):
                return self.either(node, test, body, other)
            case ast.Call():
                return self.call(node)
        raise self.refuse(node, f"{type(node).__name__} is not translated")

    def known(self, node: ast.expr) -> int | float:
        """A number that a module names."""
        found: object = None
        if isinstance(node, ast.Name):
            found = self.names.get(node.id)
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            module = self.names.get(node.value.id)
            found = getattr(module, node.attr, None) if isinstance(module, ModuleType) else None
        if isinstance(found, int | float):
            return found
        raise self.refuse(node, f"{ast.unparse(node)} is no number here")

    def cell(self, node: ast.Subscript) -> Value:
        """Where in memory a cell lies."""
        memory = self.value(node.value)
        if memory.kind != "ptr":
            raise self.refuse(node, "only memory has cells")
        index = self.turned(self.value(node.slice), WHOLE, node)
        spot = self.new("ptr", f"getelementptr inbounds {memory.of}, ptr {memory.text}, i64 {index.text}")
        return Value("ptr", spot.text, memory.of)

    def number(self, value: Value) -> Value:
        """A truth as 0 or 1; numbers as they are."""
        return self.new(WHOLE, f"zext i1 {value.text} to i64") if value.kind == TRUTH else value

    def turned(self, value: Value, kind: str, node: ast.AST) -> Value:
        """A value in the kind that is wanted: a whole number may become a real one, a truth a whole one."""
        if value.kind == kind:
            return value
        if kind == WHOLE and value.kind == TRUTH:
            return self.number(value)
        if kind == REAL and value.kind in (WHOLE, TRUTH):
            return self.new(REAL, f"sitofp i64 {self.number(value).text} to double")
        raise self.refuse(node, f"a value of kind {value.kind} where {kind} belongs")

    def truth(self, node: ast.expr) -> Value:
        """Whether a value counts as true."""
        value = self.value(node)
        if value.kind == WHOLE:
            return self.new(TRUTH, f"icmp ne i64 {value.text}, 0")
        if value.kind == REAL:
            return self.new(TRUTH, f"fcmp une double {value.text}, 0.0")
        return self.turned(value, TRUTH, node)

    def alike(self, node: ast.AST, one: Value, other: Value) -> tuple[Value, Value]:
        """Two numbers in one kind."""
        one, other = self.number(one), self.number(other)
        kind = REAL if REAL in (one.kind, other.kind) else WHOLE
        return self.turned(one, kind, node), self.turned(other, kind, node)

    def compute(self, node: ast.AST, op: ast.operator, one: Value, other: Value) -> Value:
        """Arithmetic."""
        one, other = self.alike(node, one, other)
        if isinstance(op, ast.Div):
            one, other = self.turned(one, REAL, node), self.turned(other, REAL, node)
            return self.new(REAL, f"fdiv double {one.text}, {other.text}")
        if type(op) in ARITHMETIC:
            word = ("f" if one.kind == REAL else "") + ARITHMETIC[type(op)]
            return self.new(one.kind, f"{word} {one.kind} {one.text}, {other.text}")
        if one.kind == WHOLE and type(op) in BITWISE:
            return self.new(WHOLE, f"{BITWISE[type(op)]} i64 {one.text}, {other.text}")
        if one.kind == WHOLE and isinstance(op, ast.FloorDiv | ast.Mod):
            return self.rounded_down(one.text, other.text, isinstance(op, ast.Mod))
        raise self.refuse(node, f"{type(op).__name__} of {one.kind} is not translated")

    def rounded_down(self, one: str, other: str, remainder: bool) -> Value:
        """Division as Python does it. Nothing divides by zero here; if it did, the machine must not stop."""
        zero = self.new(TRUTH, f"icmp eq i64 {other}, 0")
        by = self.new(WHOLE, f"select i1 {zero.text}, i64 1, i64 {other}").text
        rest = self.new(WHOLE, f"srem i64 {one}, {by}").text
        signs = self.new(WHOLE, f"xor i64 {rest}, {by}").text
        apart = self.new(TRUTH, f"icmp slt i64 {signs}, 0").text
        some = self.new(TRUTH, f"icmp ne i64 {rest}, 0").text
        below = self.new(TRUTH, f"and i1 {apart}, {some}").text
        if remainder:
            return self.new(WHOLE, f"add i64 {rest}, {self.new(WHOLE, f'select i1 {below}, i64 {by}, i64 0').text}")
        whole = self.new(WHOLE, f"sdiv i64 {one}, {by}").text
        return self.new(WHOLE, f"sub i64 {whole}, {self.new(WHOLE, f'zext i1 {below} to i64').text}")

    def compare(self, node: ast.Compare, values: list[Value], ops: list[ast.cmpop]) -> Value:
        """One comparison or a chain of them."""
        found: Value | None = None
        for k, op in enumerate(ops):
            if type(op) not in ORDER:
                raise self.refuse(node, f"{type(op).__name__} is not translated")
            one, other = self.alike(node, values[k], values[k + 1])
            word = ORDER[type(op)]
            if one.kind == REAL:
                test = f"fcmp {'une' if word == 'ne' else 'o' + word} double {one.text}, {other.text}"
            else:
                test = f"icmp {word if word in ('eq', 'ne') else 's' + word} i64 {one.text}, {other.text}"
            this = self.new(TRUTH, test)
            found = this if found is None else self.new(TRUTH, f"and i1 {found.text}, {this.text}")
        assert found is not None
        return found

    def all_or_any(self, parts: list[ast.expr], wanted: bool) -> Value:
        """``and`` and ``or`` as truths: the first that decides ends it."""
        slot = Value("ptr", self.slot(TRUTH))
        after = self.label()
        for k, part in enumerate(parts):
            value = self.truth(part)
            self.put(slot, value)
            if k < len(parts) - 1:
                onward = self.label()
                yes, no = (onward, after) if wanted else (after, onward)
                self.say(f"br i1 {value.text}, label %{yes}, label %{no}")
                self.say(f"{onward}:")
        self.begin(after)
        return self.new(TRUTH, f"load i1, ptr {slot.text}")

    def either(self, node: ast.IfExp, test: ast.expr, body: ast.expr, other: ast.expr) -> Value:
        """One value or the other; only that one is worked out."""
        yes, no, after = self.label(), self.label(), self.label()
        self.say(f"br i1 {self.truth(test).text}, label %{yes}, label %{no}")
        before, found = self.lines, []
        for part in (body, other):
            self.lines = []
            found.append((self.value(part), self.lines))
        kinds = {value.kind for value, _ in found}
        kind = kinds.pop() if len(kinds) == 1 else (REAL if REAL in kinds else WHOLE)
        slot = Value("ptr", self.slot(kind))
        for label, (value, lines) in zip((yes, no), found, strict=True):
            self.lines = lines
            self.put(slot, self.turned(value, kind, node))
            before += [f"{label}:", *self.lines, f"br label %{after}"]
        self.lines = before
        self.say(f"{after}:")
        return self.new(kind, f"load {kind}, ptr {slot.text}")

    # --- calls --------------------------------------------------------------------------------------------------

    def call(self, node: ast.Call) -> Value:
        """A call of a kernel function, of a function of mathematics, or of one of Python's own."""
        if node.keywords:
            raise self.refuse(node, "arguments go by position")
        arguments = [self.value(part) for part in node.args]
        if isinstance(node.func, ast.Attribute) and isinstance(node.func.value, ast.Name):
            if self.names.get(node.func.value.id) is math:
                return self.mathematics(node, node.func.attr, arguments)
        elif isinstance(node.func, ast.Name):
            called = self.names.get(node.func.id)
            if isinstance(called, FunctionType):
                return self.call_kernel(node, self.head_of(called), arguments)
            if called is None:
                return self.own(node, node.func.id, arguments)
        raise self.refuse(node, f"{ast.unparse(node.func)} is not translated")

    def call_kernel(self, node: ast.Call, head: Head, arguments: list[Value]) -> Value:
        """A function of the kernel."""
        if len(arguments) != len(head.parameters):
            raise self.refuse(node, f"{head.name} takes {len(head.parameters)} arguments")
        said = []
        for value, (name, kind) in zip(arguments, head.parameters, strict=True):
            if kind in CELLS:
                if value.kind != "ptr" or value.of != CELLS[kind]:
                    raise self.refuse(node, f"{name} is memory of another kind")
                said.append(f"ptr {value.text}")
            else:
                said.append(f"{KINDS[kind]} {self.turned(value, KINDS[kind], node).text}")
        text = f'call {head.returns} @"{head.name}"({", ".join(said)})'
        if head.returns == NOTHING:
            self.say(text)
            return Value(NOTHING, "")
        return self.new(head.returns, text)

    def mathematics(self, node: ast.Call, name: str, arguments: list[Value]) -> Value:
        """A function of real numbers."""
        if len(arguments) != LIBRARY.get(name, 1 if name in MATH else -1) or name == "floor":
            raise self.refuse(node, f"math.{name} is not translated")
        said = ", ".join(f"double {self.turned(value, REAL, node).text}" for value in arguments)
        return self.new(REAL, f"call double @{MATH.get(name, name)}({said})")

    def own(self, node: ast.Call, name: str, arguments: list[Value]) -> Value:
        """Python's own functions of numbers."""
        match name, arguments:
            case "int", [value]:
                value = self.number(value)
                return self.new(WHOLE, f"fptosi double {value.text} to i64") if value.kind == REAL else value
            case "float", [value]:
                return self.turned(value, REAL, node)
            case "bool", [_]:
                return self.truth(node.args[0])
            case "abs", [value] if value.kind == REAL:
                return self.new(REAL, f"call double @llvm.fabs.f64(double {value.text})")
            case "abs", [value]:
                minus = self.new(WHOLE, f"sub i64 0, {value.text}")
                below = self.new(TRUTH, f"icmp slt i64 {value.text}, 0")
                return self.new(WHOLE, f"select i1 {below.text}, i64 {minus.text}, i64 {value.text}")
            case "min" | "max", [one, other]:
                one, other = self.alike(node, one, other)
                op = ast.Lt() if name == "min" else ast.Gt()
                better = self.compare(ast.Compare(node.args[0], [op], [node.args[1]]), [other, one], [op])
                chosen = f"{one.kind} {other.text}, {one.kind} {one.text}"
                return self.new(one.kind, f"select i1 {better.text}, {chosen}")
        raise self.refuse(node, f"{name} is not translated")


def constant(number: int | float) -> Value:
    """A number as LLVM writes it; real ones by their bits."""
    if isinstance(number, bool):
        return Value(TRUTH, str(int(number)))
    if isinstance(number, int):
        return Value(WHOLE, str(number))
    return Value(REAL, f"0x{struct.unpack('<Q', struct.pack('<d', number))[0]:016X}")
