"""The science is tested without the app: ``pytest tests/methods -p no:django`` runs on its own."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
APP = {"campaigns", "readings", "reports", "config", "demo", "django", "rest_framework", "auditlog", "celery"}
#: What tests of the app share, by the first part of its name below ``tests``.
OF_THE_METHODS = {"methods", "examples"}


def imported_by(source: str) -> Iterator[str]:
    """Full names of the modules that the source imports, wherever it does."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are absolute here"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def strangers(source: str) -> set[str]:
    """What a test of the methods has no business with: the app, its framework, other tests."""
    found = set()
    for name in imported_by(source):
        first, *rest = name.split(".")
        if first in APP or (first == "tests" and rest[0] not in OF_THE_METHODS):
            found.add(name)
    return found


def test_tests_of_the_methods_import_nothing_of_the_app() -> None:
    paths = sorted((TESTS / "methods").rglob("*.py"))
    assert len(paths) > 20
    found = {str(path.relative_to(TESTS)): strangers(path.read_text(encoding="utf-8")) for path in paths}
    assert {path: names for path, names in found.items() if names} == {}


def test_a_stranger_would_be_noticed() -> None:
    source = "import numpy\nfrom methods.logs import types\nfrom tests.methods import limit_samples\ndef f():\n    "
    assert strangers(source + "from tests import factories") == {"tests.factories"}
    assert strangers(source + "import django.test") == {"django.test"}
    assert strangers(source + "from campaigns.models import Site") == {"campaigns.models.Site"}


def test_they_run_where_django_is_not_set_up() -> None:
    """One file of them, in a process of its own; and there no Django was loaded at all."""
    watch = "import sys, pytest; code = pytest.main(sys.argv[1:]); sys.exit(code or 99 * ('django' in sys.modules))"
    command = [
        sys.executable,
        "-c",
        watch,
        "tests/methods/test_units.py",
        "-q",
        "-p",
        "no:django",
        "-p",
        "no:cacheprovider",
    ]
    done = subprocess.run(command, cwd=TESTS.parent, capture_output=True, text=True, timeout=100)
    assert done.returncode == 0, done.stdout + done.stderr
