"""Mutation: would the tests notice a slip in the code that judges substitutes?

One place of the code at a time is changed (a comparison turned or moved by its edge, `and` for `or`, a condition
reversed, a number, a grade one better, plus for minus, least for most; an entry of a module's table left out), in this
process and only for the moment; then the fast tests of a fit run. What they let pass is a survivor; `mutation.txt`
says of each that is left why it may stand, and those it does not name are printed last. Not changed: texts, default
arguments, single numbers that stand outside functions.

    python tests/bench/mutation.py [MODULE ...]
"""

from __future__ import annotations

import ast
import copy
import importlib
import inspect
import sys
import time
from collections import Counter
from collections.abc import Collection, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from types import CodeType, FunctionType, ModuleType

import msgspec
from row_dropping import cases, explained, notices

from catalog.rules import Grade

HERE = Path(__file__).parent
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
    "catalog.kinds.safety_cap",
    "catalog.kinds.listed",
    "catalog.kinds.remarks",
    "catalog.kinds.family",
    "catalog.kinds",
    "catalog.unread",
    "catalog.figures",
    "catalog.rule_words",
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


def places(tree: ast.Module, known: Collection[str]) -> Iterator[tuple[str, ast.AST, str, ast.AST]]:
    """Each slip: the key of it without its module, the node and what replaces it, and the function it is in."""
    for holder, prefix in [(tree, ""), *((one, f"{one.name}.") for one in tree.body if isinstance(one, ast.ClassDef))]:
        for outer in holder.body:
            if not isinstance(outer, ast.FunctionDef) or (name := prefix + outer.name) not in known:
                continue
            around = {
                part: whole for line in outer.body for whole in ast.walk(line) for part in ast.iter_child_nodes(whole)
            }
            for node in (inner for line in outer.body for inner in ast.walk(line)):
                shown = around.get(node, node) if isinstance(node, ast.Constant | ast.Name | ast.Attribute) else node
                for said, other in slips(node):
                    yield f"{name}: {said} in “{' '.join(ast.unparse(shown).split())[:70]}”", node, name, other


def mutants(module: ModuleType) -> Iterator[tuple[str, AbstractContextManager[None]]]:
    """Each change by its key, with a context that holds it in force.

    The key has no line number, which any change above would move.
    """
    tree = ast.parse(inspect.getsource(module))
    known = functions(module)
    for said, node, name, other in places(tree, known):
        changed = ast.fix_missing_locations(Swap(node, other).visit(copy_around(tree, node)))
        code = dict(codes(compile(changed, module.__file__ or "", "exec")))[name]
        if code != known[name].__code__:
            yield f"{module.__name__} {said}", replaced(known[name], "__code__", code)
    for said, change in tables(module):
        yield f"{module.__name__} {said}", change


def tables(module: ModuleType) -> Iterator[tuple[str, AbstractContextManager[None]]]:
    """Each table that the module itself writes out, with one entry left out, or of a grade one better."""
    for line in ast.parse(inspect.getsource(module)).body:
        named = (
            line.targets if isinstance(line, ast.Assign) else [line.target] if isinstance(line, ast.AnnAssign) else []
        )
        for name in (target.id for target in named if isinstance(target, ast.Name)):
            table = getattr(module, name)
            if isinstance(table, dict):
                yield from ((f"{name}: {said}", change) for said, change in entries(table))
            elif isinstance(table, tuple | frozenset) and not any(isinstance(one, msgspec.Struct) for one in table):
                for entry in sorted(table, key=repr):
                    smaller = type(table)(one for one in table if one != entry)
                    yield f"{name}: without {entry!r}"[:120], replaced(module, name, smaller)


def entries(table: dict[object, object]) -> Iterator[tuple[str, AbstractContextManager[None]]]:
    """Every slip that a table of words allows; the table is changed in place, for other modules hold it too."""
    for entry, held in table.items():
        yield f"without {entry!r}", altered(table, {one: kept for one, kept in table.items() if one != entry})
        if isinstance(held, dict):
            yield from ((f"{entry!r} {said}", change) for said, change in entries(held))
        elif isinstance(held, Grade) and BETTER[held.name] != held.name:
            yield f"{entry!r} {BETTER[held.name]}", altered(table, {**table, entry: Grade[BETTER[held.name]]})
        elif isinstance(held, tuple):
            for one in held:
                fewer = tuple(kept for kept in held if kept != one)
                yield f"{entry!r} without {one!r}", altered(table, {**table, entry: fewer})


@contextmanager
def replaced(holder: object, name: str, other: object) -> Iterator[None]:
    """The attribute replaced for the moment."""
    right = getattr(holder, name)
    setattr(holder, name, other)
    try:
        yield
    finally:
        setattr(holder, name, right)


@contextmanager
def altered(table: dict[object, object], other: dict[object, object]) -> Iterator[None]:
    """The table with other contents for the moment."""
    right = dict(table)
    table.clear()
    table.update(other)
    try:
        yield
    finally:
        table.clear()
        table.update(right)


def copy_around(tree: ast.Module, keep: ast.AST) -> ast.Module:
    """A copy of the tree in which the node `keep` is still itself."""
    return copy.deepcopy(tree, {id(keep): keep})


def main(names: list[str]) -> int:
    """Run it over the modules named, or all; returns the number of survivors that are not explained."""
    tests = cases()
    broken = notices(tests)
    if broken:
        print(f"the tests fail before anything is changed: {broken}")
        return 1
    began, made, survivors = time.monotonic(), 0, Counter()
    for name in names or MODULES:
        before = made, survivors.total()
        for said, change in list(mutants(importlib.import_module(name))):
            with change:
                noticed = notices(tests)
            made += 1
            if not noticed:
                survivors[said] += 1
                print(said, flush=True)
        print(f"{name}: {made - before[0]} changes, {survivors.total() - before[1]} survive", flush=True)
    left = survivors.total()
    print(f"{made} changes, {made - left} noticed, {left} survive; {time.monotonic() - began:.0f} s")
    told = explained(HERE / "mutation.txt")
    unexplained = survivors - told
    about = Counter({said: count for said, count in told.items() if said.split()[0] in (names or MODULES)})
    print("not explained:", *unexplained.elements(), sep="\n  ")
    print("explained, but noticed now:", *(about - survivors).elements(), sep="\n  ")
    return unexplained.total()


if __name__ == "__main__":
    sys.exit(min(1, main(sys.argv[1:])))
