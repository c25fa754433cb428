"""DEVELOPERS.md stays short, and its lists are those of ``pyproject.toml``."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
MOST_LINES = 200


def section(title: str) -> str:
    return re.split(r"^## ", PAGE.split(f"\n## {title}\n")[1], maxsplit=1, flags=re.MULTILINE)[0]


def package(requirement: str) -> str:
    found = re.match(r"[\w.-]+", requirement)
    assert found
    return found[0].lower()


def test_it_stays_short() -> None:
    assert len(PAGE.splitlines()) < MOST_LINES


def test_the_contracts_are_listed() -> None:
    listed = dict(re.findall(r"^\| `([\w-]+)` \| (.+) \|$", section("The import rule"), re.MULTILINE))
    contracts = {contract["id"]: contract["name"] for contract in PROJECT["tool"]["importlinter"]["contracts"]}
    assert listed == contracts


def test_each_dependency_has_its_reason() -> None:
    tables = re.findall(r"^\| (?!package|for building|---)([^|]+) \| [^|]+ \|$", section("Dependencies"), re.MULTILINE)
    named = {package(one.strip()) for cell in tables for one in cell.split(",")}
    asked = {package(one) for one in (*PROJECT["project"]["dependencies"], *PROJECT["dependency-groups"]["dev"])}
    assert named == asked


def test_every_folder_is_on_the_map() -> None:
    told = section("The map")
    packages = {path.parent.name for path in ROOT.glob("*/__init__.py")}
    assert {name for name in {*packages, "static", "templates"} if f"`{name}/`" not in told} == set()
    rooms = {path.parent.name for path in (ROOT / "methods").glob("*/__init__.py")}
    assert {name for name in rooms if f"`{name}/`" not in told} == set()


def test_hooks_of_pre_commit_come_from_here() -> None:
    hooks = (ROOT / ".pre-commit-config.yaml").read_text(encoding="utf-8")
    assert re.findall(r"^ *- repo: *(.+)$", hooks, re.MULTILINE) == ["local"]
    assert "://" not in hooks
