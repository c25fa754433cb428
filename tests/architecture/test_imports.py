"""Imports point one way, inside apps too, methods know no framework, and no two modules import each other."""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from importlib.metadata import packages_distributions
from pathlib import Path

import grimp
import pytest
from importlinter import api, cli

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("methods", "campaigns", "readings", "reports", "demo", "config")
#: How packages begin that run, keep, send or serve: nothing to calculate with.
FRAMEWORK = ("django", "drf-", "dj-", "psycopg", "celery", "redis", "waitress", "whitenoise", "pywin32")


def test_the_contracts_are_kept(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(ROOT)
    code = cli.lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)
    assert code == cli.EXIT_STATUS_SUCCESS, capsys.readouterr().out


def test_every_rule_is_among_them() -> None:
    contracts = {
        contract["id"] for contract in api.read_configuration(str(ROOT / "pyproject.toml"))["contracts_options"]
    }
    assert {
        "one-way", "methods", "methods-inside", "campaigns-inside", "readings-inside", "reports-inside",
        "no-view-below",
        "signed-wording",
    } <= contracts  # fmt: skip


def run_time_packages() -> set[str]:
    """What ``pyproject.toml`` asks for where Fanlight runs, by the names of distributions."""
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    return {re.split(r"[\[<>=!~; ]", requirement)[0].lower() for requirement in listed}


def strangers_to_methods(imported: Iterable[str]) -> set[str]:
    """Of top-level names of modules, those that are neither Python's nor of a library for calculating and reading."""
    of_module = packages_distributions()
    libraries = {package for package in run_time_packages() if not package.startswith(FRAMEWORK)}
    known = {module for module, packages in of_module.items() if libraries & {package.lower() for package in packages}}
    return set(imported) - known - (sys.stdlib_module_names - {"importlib"}) - {"methods"}


def test_methods_import_libraries_for_calculating_and_reading_only() -> None:
    """The contract forbids frameworks by name; this knows what is allowed, so that a new one is noticed as well."""
    graph = grimp.build_graph(
        "methods", include_external_packages=True, exclude_type_checking_imports=False, cache_dir=None
    )
    assert strangers_to_methods(module.split(".")[0] for module in graph.modules) == set()


def test_a_stranger_to_methods_would_be_noticed() -> None:
    strangers = {"django", "django_htmx", "rest_framework", "redis", "pytest", "requests", "importlib"}
    assert strangers_to_methods([*strangers, "numpy", "PIL", "json", "methods"]) == strangers


def circle_in(imports: Mapping[str, set[str]]) -> list[str]:
    """The modules of a circle, in turn; empty where there is none."""
    try:
        TopologicalSorter(imports).prepare()
    except CycleError as error:
        return list(error.args[1])
    return []


def imports_of(graph: grimp.ImportGraph) -> Iterator[tuple[str, set[str]]]:
    """Each module with what it imports. Imports inside functions and under ``TYPE_CHECKING`` count."""
    for module in graph.modules:
        yield module, graph.find_modules_directly_imported_by(module)


def test_no_modules_import_each_other_in_a_circle() -> None:
    graph = grimp.build_graph(*PACKAGES, exclude_type_checking_imports=False, cache_dir=None)
    assert circle_in(dict(imports_of(graph))) == []


def test_a_circle_would_be_noticed() -> None:
    circle = circle_in({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}})
    assert set(circle) == {"a", "b", "c"}
