"""Small files, small functions, one class of a name: a thing that wants to be longer asks for a new name.

What was measured is printed at the end of the run (``pytest_terminal_summary`` in ``tests/conftest.py``).
"""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("methods", "campaigns", "readings", "reports", "config", "demo", "tests")
MOST_LINES, MOST_IN_A_FUNCTION = 400, 40
#: Django looks for a class of this name in every management command.
NAMED_BY_DJANGO = {"Command"}
Function = ast.FunctionDef | ast.AsyncFunctionDef
Record = Callable[[str, object], None]


@cache
def sources() -> dict[str, str]:
    """The text of every Python file of ours by its path, but for the migrations, which Django writes."""
    paths = [ROOT / "manage.py", *(path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py")))]
    kept = [path for path in paths if "migrations" not in path.parts]
    return {path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8") for path in kept}


@cache
def trees() -> dict[str, ast.Module]:
    return {path: ast.parse(text) for path, text in sources().items()}


def functions(tree: ast.AST) -> Iterator[Function]:
    """Of statements alone: there are ten times as many expressions, and none of them holds a ``def``."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node
        if not isinstance(node, ast.expr):
            yield from functions(node)


def length(function: Function) -> int:
    """Lines from ``def`` to the end, without decorators."""
    return (function.end_lineno or 0) - function.lineno + 1


def classes(tree: ast.AST) -> list[str]:
    """Those of the module itself, also under an ``if`` or a ``try``; one inside another is known by the outer one."""
    own = [node for node in ast.iter_child_nodes(tree) if isinstance(node, ast.ClassDef)]
    inner = ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef | ast.expr
    others = [node for node in ast.iter_child_nodes(tree) if not isinstance(node, inner)]
    return [node.name for node in own] + [name for node in others for name in classes(node)]


def twice(names: Iterator[str]) -> dict[str, int]:
    return {name: count for name, count in Counter(names).items() if count > 1 and name not in NAMED_BY_DJANGO}


def test_no_file_is_long(record_property: Record) -> None:
    lines = {path: len(text.splitlines()) for path, text in sources().items()}
    largest = max(lines, key=lambda path: lines[path])
    middle = median(lines.values())
    said = f"{len(lines)} files: the median has {middle:g} lines, the largest {lines[largest]} ({largest})"
    record_property("says", said)
    assert {path: count for path, count in lines.items() if count > MOST_LINES} == {}


def test_no_function_is_long(record_property: Record) -> None:
    lengths = {f"{path}: {f.name}": length(f) for path, tree in trees().items() for f in functions(tree)}
    long = {name: count for name, count in lengths.items() if count > MOST_IN_A_FUNCTION}
    record_property("says", f"functions over {MOST_IN_A_FUNCTION} lines: {', '.join(long) or 'none'}")
    assert long == {}


def test_a_class_name_occurs_once(record_property: Record) -> None:
    found = twice(name for tree in trees().values() for name in classes(tree))
    record_property("says", f"class names that occur twice: {', '.join(found) or 'none'}")
    assert found == {}


def test_the_measures_measure() -> None:
    function = '@decorated\ndef f():\n    """One\n    two."""\n    a = 1\n    return a\n'
    tree = ast.parse(function + "class A:\n    class B: ...\nclass A: ...\n")
    assert [length(found) for found in functions(tree)] == [5]
    assert twice(iter(classes(tree))) == {"A": 2}
    hidden = "if x:\n    class A: ...\nelse:\n    class B: ...\ntry:\n    class C: ...\nexcept E:\n    class D: ...\n"
    assert classes(ast.parse(hidden + "def f():\n    class E: ...\n")) == ["A", "B", "C", "D"]
