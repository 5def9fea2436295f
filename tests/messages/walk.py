"""Reads out of a rule's source which kinds, causes, first steps, things not to do and facts it can use.

Nothing is run. Keywords of that name are followed through conditions, tables, names, parameters and fields; beside
that, every string that looks like a code and is not plainly something else counts as one.
"""

import ast
import inspect
import re
import sys
from collections.abc import Iterator

from pydantic import BaseModel

from monitor.model import equipment

FIELDS = {"kind": "kinds", "causes": "causes", "first": "first", "never": "never"}
_CODE = re.compile(r"[a-z]+(_[a-z0-9]+)+")

_FIELDS_OF_RECORDS = {
    field
    for made in vars(equipment).values()
    if isinstance(made, type) and issubclass(made, BaseModel)
    for field in made.model_fields
}


class Used:
    """The words that a rule's module, and the modules it is split into, can ask for.

    Attributes:
        parts: what reaches a finding's kind, causes, first and never, by part of the word file.
        codes: strings that look like codes.
        facts: names of facts.
        strings: every string.
    """

    def __init__(self, rule_type: type) -> None:
        self.parts: dict[str, set[str]] = {part: set() for part in FIELDS.values()}
        self.facts: set[str] = set()
        self.strings: set[str] = set()
        others: set[str] = set()
        for tree in _trees(rule_type):
            reader = _Reader(tree)
            for part, found in reader.parts().items():
                self.parts[part] |= found
            self.strings |= {
                n.value for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)
            }
            facts, names = _names_of_other_things(tree)
            self.facts |= facts
            others |= facts | names
        self.codes = {s for s in self.strings if _CODE.fullmatch(s)} - others - _FIELDS_OF_RECORDS


def _trees(rule_type: type) -> Iterator[ast.Module]:
    """Give the sources of the rule's module and of what it is split into: what it imports from `monitor.rules`."""
    todo, done = [rule_type.__module__], {"monitor.rules.rule", "monitor.rules.book"}
    while todo:
        name = todo.pop()
        if name in done or name not in sys.modules:
            continue
        done.add(name)
        tree = ast.parse(inspect.getsource(sys.modules[name]))
        yield tree
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module == "monitor.rules":
                todo += [f"monitor.rules.{alias.name}" for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("monitor.rules."):
                todo.append(str(node.module))


def _names_of_other_things(tree: ast.Module) -> tuple[set[str], set[str]]:
    """Give the names of facts, and the names of limits and attributes."""
    facts, names = set(), set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Dict):
            facts |= _constants(key for key in node.keys if key is not None)
        elif isinstance(node, ast.Subscript):
            facts |= _constants([node.slice])
        elif isinstance(node, ast.Attribute):
            names.add(node.attr)
        elif isinstance(node, ast.Call):
            called = _called(node)
            if called == "dict":
                facts |= {k.arg for k in node.keywords if k.arg}
            elif called in {"Limit", "ms", "getattr"}:
                names |= _constants(node.args)
    return facts, names


def _called(call: ast.Call) -> str:
    return call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")


def _constants(nodes: Iterator[ast.expr] | list[ast.expr]) -> set[str]:
    return {n.value for n in nodes if isinstance(n, ast.Constant) and isinstance(n.value, str)}


class _Reader:
    def __init__(self, tree: ast.Module) -> None:
        self.tree = tree
        self.assigned: dict[str, list[ast.expr]] = {}
        parameters: dict[str, list[str]] = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.Assign):
                for target in node.targets:
                    self._assign(target, node.value)
            elif isinstance(node, (ast.AnnAssign, ast.AugAssign)) and node.value is not None:
                self._assign(node.target, node.value)
            elif isinstance(node, ast.FunctionDef):
                parameters[node.name] = [a.arg for a in node.args.args if a.arg != "self"]
            elif isinstance(node, ast.ClassDef):
                fields = (s.target for s in node.body if isinstance(s, ast.AnnAssign))
                parameters[node.name] = [f.id for f in fields if isinstance(f, ast.Name)]
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and _called(node) in parameters:
                self._pass(node, parameters[_called(node)])

    def parts(self) -> dict[str, set[str]]:
        found: dict[str, set[str]] = {part: set() for part in FIELDS.values()}
        for node in ast.walk(self.tree):
            if isinstance(node, ast.keyword) and node.arg in FIELDS:
                found[FIELDS[node.arg]] |= set(self._strings(node.value, frozenset()))
        return found

    def _pass(self, call: ast.Call, parameters: list[str]) -> None:
        for name, value in zip(parameters, call.args, strict=False):
            self.assigned.setdefault(name, []).append(value)
        for keyword in call.keywords:
            if keyword.arg is not None:
                self.assigned.setdefault(keyword.arg, []).append(keyword.value)

    def _assign(self, target: ast.expr, value: ast.expr) -> None:
        if isinstance(target, ast.Name):
            self.assigned.setdefault(target.id, []).append(value)
        elif isinstance(target, (ast.Tuple, ast.List)):
            values = value.elts if isinstance(value, (ast.Tuple, ast.List)) else [value] * len(target.elts)
            for one, its in zip(target.elts, values, strict=False):
                self._assign(one, its)

    def _strings(self, value: ast.expr, through: frozenset[str]) -> Iterator[str]:
        """Give the strings a value can be or hold."""
        if isinstance(value, ast.Constant) and isinstance(value.value, str):
            yield value.value
        name = value.id if isinstance(value, ast.Name) else value.attr if isinstance(value, ast.Attribute) else None
        if name is not None and name not in through:
            for assigned in self.assigned.get(name, []):
                yield from self._strings(assigned, through | {name})
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
