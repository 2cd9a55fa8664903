"""Mutation: would the tests notice a slip in the code that judges substitutes?

One place of the code at a time is changed (a comparison turned or moved by its edge, `and` for `or`, a condition
reversed, a number, a grade one better, plus for minus, least for most), in this process and only for the moment; then
the fast tests of a fit run. What they let pass is a survivor; `mutation.txt` says why each that is left may stand.

    python tests/bench/mutation.py [MODULE ...]
"""

from __future__ import annotations

import ast
import copy
import importlib
import inspect
import sys
import time
from collections.abc import Iterator
from types import CodeType, FunctionType, ModuleType

from row_dropping import cases, notices

from catalog.rules import Grade

MODULES = (
    "catalog.judge",
    "catalog.fit",
    "catalog.fit_texts",
    "catalog.rules",
    "catalog.own_rules",
    "catalog.kinds.special_batteries",
    "catalog.kinds.special_capacitors",
    "catalog.kinds.special_electrical",
    "catalog.kinds.special_mechanical",
)
TURNED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
REVERSED = {ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt}
ARITHMETIC = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}
BETTER = {grade.name: tuple(Grade)[max(0, grade.rank - 1)].name for grade in Grade}
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}


def slips(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    """Every slip that one node allows, with a word for it."""
    if isinstance(node, ast.Compare):
        for place, operator in enumerate(node.ops):
            for table in (TURNED, REVERSED):
                if type(operator) in table:
                    other = copy.deepcopy(node)
                    other.ops[place] = table[type(operator)]()
                    yield f"{type(operator).__name__} → {table[type(operator)].__name__}", other
    elif isinstance(node, ast.BoolOp):
        other = copy.deepcopy(node)
        other.op = ast.And() if isinstance(node.op, ast.Or) else ast.Or()
        yield type(node.op).__name__, other
        for place in range(len(node.values)):
            other = copy.deepcopy(node)
            del other.values[place]
            yield f"without part {place}", other if len(other.values) > 1 else other.values[0]
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield "without not", copy.deepcopy(node.operand)
    elif isinstance(node, ast.BinOp) and type(node.op) in ARITHMETIC:
        other = copy.deepcopy(node)
        other.op = ARITHMETIC[type(node.op)]()
        yield type(node.op).__name__, other
    elif isinstance(node, ast.Constant) and type(node.value) in {int, float, bool}:
        values = (not node.value,) if isinstance(node.value, bool) else (node.value + 1, node.value * 0.9)
        yield from ((f"{node.value} → {value}", ast.Constant(value)) for value in values if value != node.value)
    elif isinstance(node, ast.Attribute) and getattr(node.value, "id", "") == "Grade" and node.attr in BETTER:
        if BETTER[node.attr] != node.attr:
            yield f"{node.attr} → {BETTER[node.attr]}", ast.Attribute(node.value, BETTER[node.attr], node.ctx)
    elif isinstance(node, ast.Name) and node.id in NAMES:
        yield node.id, ast.Name(NAMES[node.id], node.ctx)
    elif isinstance(node, ast.IfExp):
        yield "branches exchanged", ast.IfExp(node.test, node.orelse, node.body)


class Swap(ast.NodeTransformer):
    """Puts one node in the place of another."""

    def __init__(self, old: ast.AST, new: ast.AST) -> None:
        self.old, self.new = old, new

    def visit(self, node: ast.AST) -> ast.AST:
        return ast.copy_location(self.new, node) if node is self.old else self.generic_visit(node)


def functions(module: ModuleType) -> dict[str, FunctionType]:
    """The functions and methods that the module itself defines, by qualified name."""
    found = {}
    for held in vars(module).values():
        if inspect.isfunction(held) and held.__module__ == module.__name__:
            found[held.__qualname__] = held
        elif inspect.isclass(held) and held.__module__ == module.__name__:
            for part in vars(held).values():
                inner = part.fget if isinstance(part, property) else part
                if inspect.isfunction(inner) and inner.__module__ == module.__name__:
                    found[inner.__qualname__] = inner
    return found


def codes(code: CodeType, prefix: str = "") -> Iterator[tuple[str, CodeType]]:
    """The code of every function in a module's code, by qualified name."""
    for held in code.co_consts:
        if isinstance(held, CodeType):
            yield held.co_qualname, held
            yield from codes(held)


def mutants(module: ModuleType) -> Iterator[tuple[str, FunctionType, CodeType]]:
    """Each change with where it is, the function it is in, and its changed code."""
    source = inspect.getsource(module)
    tree = ast.parse(source)
    known = functions(module)
    for outer in ast.walk(tree):
        if not isinstance(outer, ast.FunctionDef):
            continue
        for node in (inner for line in outer.body for inner in ast.walk(line)):
            for said, other in slips(node):
                changed = ast.fix_missing_locations(Swap(node, other).visit(copy_around(tree, node)))
                compiled = dict(codes(compile(changed, module.__file__ or "", "exec")))
                name = next((name for name in known if name.rpartition(".")[2] == outer.name), None)
                if name and compiled[name] != known[name].__code__:
                    text = ast.unparse(node)
                    yield (
                        f"{module.__name__}:{node.lineno} {name}: {said} in “{text[:60]}”",
                        known[name],
                        compiled[name],
                    )


def copy_around(tree: ast.Module, keep: ast.AST) -> ast.Module:
    """A copy of the tree in which the node `keep` is still itself."""
    return copy.deepcopy(tree, {id(keep): keep})


def main(names: list[str]) -> int:
    """Run it over the modules named, or all; returns the number of survivors."""
    tests = cases()
    broken = notices(tests)
    if broken:
        print(f"the tests fail before anything is changed: {broken}")
        return 1
    began, made, survivors = time.monotonic(), 0, 0
    for name in names or MODULES:
        before = made, survivors
        for said, function, code in mutants(importlib.import_module(name)):
            right, function.__code__ = function.__code__, code
            try:
                noticed = notices(tests)
            finally:
                function.__code__ = right
            made += 1
            if not noticed:
                survivors += 1
                print(said, flush=True)
        print(f"{name}: {made - before[0]} changes, {survivors - before[1]} survive", flush=True)
    print(f"{made} changes, {made - survivors} noticed, {survivors} survive; {time.monotonic() - began:.0f} s")
    return survivors


if __name__ == "__main__":
    sys.exit(min(1, main(sys.argv[1:])))
