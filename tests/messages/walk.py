"""Reads out of a rule's source which kinds, causes, first steps, things not to do and facts it uses."""

import ast
import inspect
import sys
from collections.abc import Iterator

FIELDS = {"kind": "kinds", "causes": "causes", "first": "first", "never": "never"}


class Used:
    """The words a rule's module, and the modules it is split into, can ask for."""

    def __init__(self, rule_type: type) -> None:
        self.parts: dict[str, set[str]] = {part: set() for part in FIELDS.values()}
        self.facts: set[str] = set()
        self.strings: set[str] = set()
        for tree in _trees(rule_type):
            _Reader(tree).read_into(self)


def _trees(rule_type: type) -> Iterator[ast.Module]:
    """Give the sources of the rule's module and of those beside it that bear its name, such as ``battery_rest``."""
    module = sys.modules[rule_type.__module__]
    stem = module.__name__.rpartition(".")[2]
    for name, other in sorted(sys.modules.items()):
        parent, _, last = name.rpartition(".")
        if parent == "monitor.rules" and (last == stem or last.startswith(f"{stem}_")):
            yield ast.parse(inspect.getsource(other))


class _Reader:
    def __init__(self, tree: ast.Module) -> None:
        self.tree = tree
        self.assigned: dict[str, list[ast.expr]] = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.Assign):
                for target in node.targets:
                    self._assign(target, node.value)
            elif isinstance(node, (ast.AnnAssign, ast.AugAssign)) and node.value is not None:
                self._assign(node.target, node.value)

    def _assign(self, target: ast.expr, value: ast.expr) -> None:
        if isinstance(target, ast.Name):
            self.assigned.setdefault(target.id, []).append(value)
        elif isinstance(target, (ast.Tuple, ast.List)):
            values = value.elts if isinstance(value, (ast.Tuple, ast.List)) else [value] * len(target.elts)
            for one, its in zip(target.elts, values, strict=False):
                self._assign(one, its)

    def read_into(self, used: Used) -> None:
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                used.strings.add(node.value)
            if isinstance(node, ast.keyword) and node.arg in FIELDS:
                used.parts[FIELDS[node.arg]] |= set(self._strings(node.value, set()))
            if isinstance(node, ast.Dict):
                used.facts |= {k.value for k in node.keys if isinstance(k, ast.Constant) and isinstance(k.value, str)}
            if isinstance(node, ast.Subscript) and isinstance(node.slice, ast.Constant):
                used.facts.add(str(node.slice.value))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "dict":
                used.facts |= {k.arg for k in node.keywords if k.arg}

    def _strings(self, value: ast.expr, through: set[str]) -> Iterator[str]:
        """Give the strings a value can be or hold."""
        if isinstance(value, ast.Constant) and isinstance(value.value, str):
            yield value.value
        if isinstance(value, ast.Name) and value.id not in through:
            for assigned in self.assigned.get(value.id, []):
                yield from self._strings(assigned, through | {value.id})
        for inner in _held(value):
            yield from self._strings(inner, through)


def _held(value: ast.expr) -> list[ast.expr]:
    """Give the parts a value's strings can come from; conditions and keys of tables only choose among them."""
    match value:
        case ast.IfExp():
            return [value.body, value.orelse]
        case ast.Dict():
            return value.values
        case ast.Tuple() | ast.List():
            return value.elts
        case ast.BinOp():
            return [value.left, value.right]
        case ast.Subscript() | ast.Starred():
            return [value.value]
        case _:
            return []
