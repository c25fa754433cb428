"""What people read holds no exponent: numbers are written by ``methods.quantities.digits``, and by no format code that
may print one."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

import pytest

from tests.architecture.test_sizes import ROOT, trees

#: Where people read.
TOLD = ("methods/", "campaigns/", "readings/", "reports/")
#: Coordinates of drawings, which browsers read.
DRAWN = {"methods/figures/course.py", "methods/floorplans/images/svg.py"}
#: Of Python; within text, of the figures' own hover words.
CODE = re.compile(r"[-+ #0,_]*\d*[,_]?(\.(\d+|\{.*\}))?[geGE]")
HOVER = re.compile(r"%\{[^}]*:[^}]*[geGE]\}")
TEMPLATE = re.compile(r"\|floatformat|\|stringformat:.[^\"']*[geGE].")


def codes(tree: ast.AST) -> Iterator[int]:
    """Lines with a code that may print an exponent. A number rounded by ``float(f"…")`` is none that is read."""
    rounded = {
        id(argument)
        for call in ast.walk(tree)
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "float"
        for argument in call.args
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr) and id(node) not in rounded:
            text = "".join(str(part.value) for part in node.values if isinstance(part, ast.Constant))
            specs = [part.format_spec for part in node.values if isinstance(part, ast.FormattedValue)]
            if any(spec is not None and CODE.fullmatch(ast.unparse(spec)[2:-1]) for spec in specs) or HOVER.search(
                text
            ):
                yield node.lineno


def test_no_format_code_may_print_an_exponent() -> None:
    found = {f"{path}:{line}" for path, tree in trees().items() if path.startswith(TOLD) for line in codes(tree)}
    assert {place for place in found if place.split(":")[0] not in DRAWN} == set()


def test_no_template_rounds_by_itself() -> None:
    pages = [*(ROOT / "templates").rglob("*.html")]
    assert len(pages) > 50
    assert [path.name for path in pages if TEMPLATE.search(path.read_text(encoding="utf-8"))] == []


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ('f"{x:g}"', True), ('f"{x:.2g} m"', True), ('f"{x:.{n}g}"', True), ('f"{x:.1e}"', True), ('f"{x:.2f}"', False),
        ('float(f"{x:.3g}")', False), ('f"%{{y:.3g}} {u}"', True), ('f"%{{y:.3~r}} {u}"', False), ('f"{x}"', False),
    ],
)  # fmt: skip
def test_it_finds_them(source: str, *, found: bool) -> None:
    assert bool(list(codes(ast.parse(source)))) is found
