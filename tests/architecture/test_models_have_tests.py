"""Every model is named by a test: one that nobody names is one that nobody checks."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest
from django.apps import apps
from django.db.models import Model

TESTS = Path(__file__).resolve().parents[1]
MODELS = [model for label in ("campaigns", "readings", "reports") for model in apps.get_app_config(label).get_models()]


@cache
def named_in_tests() -> frozenset[str]:
    """Every name that the code of a test file uses; words in strings and comments do not count."""
    files = [path for path in TESTS.rglob("test_*.py") if path.parent.name != "architecture"]
    names: set[str] = set()
    for path in files:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Name):
                names.add(node.id)
            elif isinstance(node, ast.Attribute):
                names.add(node.attr)
    return frozenset(names)


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_a_test_names_the_model(model: type[Model]) -> None:
    assert model.__name__ in named_in_tests()


def test_a_model_that_nobody_tests_would_be_noticed() -> None:
    assert "Windowsill" not in named_in_tests()
