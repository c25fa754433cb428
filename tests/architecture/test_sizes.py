"""Small files, small functions: a thing that wants to be longer asks for a new name."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("methods", "campaigns", "readings", "reports", "config", "demo", "tests")
MOST_LINES, MOST_IN_A_FUNCTION = 400, 40
Function = ast.FunctionDef | ast.AsyncFunctionDef


def sources() -> list[Path]:
    """Every Python file of ours but the migrations, which Django writes."""
    found = [path for package in PACKAGES for path in (ROOT / package).rglob("*.py") if "migrations" not in path.parts]
    return [ROOT / "manage.py", *sorted(found)]


def functions(tree: ast.AST) -> Iterator[Function]:
    return (node for node in ast.walk(tree) if isinstance(node, Function))


def length(function: Function) -> int:
    """Lines from ``def`` to the end, without decorators."""
    return (function.end_lineno or 0) - function.lineno + 1


@pytest.mark.parametrize("path", sources(), ids=lambda path: str(path.relative_to(ROOT)))
def test_no_file_and_no_function_is_long(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= MOST_LINES
    long = {f.name: length(f) for f in functions(ast.parse(text)) if length(f) > MOST_IN_A_FUNCTION}
    assert long == {}


def test_the_measure_measures() -> None:
    source = '@decorated\ndef f():\n    """One\n    two."""\n    a = 1\n    return a\n'
    (function,) = functions(ast.parse(source))
    assert length(function) == 5
