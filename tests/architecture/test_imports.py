"""Imports point one way, and pure modules know no framework: the contracts in pyproject.toml."""

from __future__ import annotations

from pathlib import Path

import pytest
from importlinter import api, cli

ROOT = Path(__file__).resolve().parents[2]


def test_the_contracts_are_kept(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(ROOT)
    code = cli.lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)
    assert code == cli.EXIT_STATUS_SUCCESS, capsys.readouterr().out


def test_both_rules_are_among_them() -> None:
    contracts = {
        contract["id"] for contract in api.read_configuration(str(ROOT / "pyproject.toml"))["contracts_options"]
    }
    assert {"one-way", "pure"} <= contracts
