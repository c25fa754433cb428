"""Imports point one way, inside apps too, methods know no framework, and no two modules import each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import grimp
import pytest
from importlinter import api, cli

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("methods", "campaigns", "readings", "reports", "demo", "config")


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
