"""What an earlier Fanlight stored comes through the migrations to the same printed figures; and it moves.

The fixture is the demo as it was loaded, judged, signed and released by the Fanlight of 2026-11-30, before agreements
and alerts: its SQLite file without jobs and PDF, its originals, and what ``printed.py`` printed under that Fanlight.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tarfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from config.keeping import manifest
from tests.config.starting import ROOT, environment, manage
from tests.conftest import skip_unless

HERE = Path(__file__).parent
FIXTURE = HERE / "demo-2026-11-30.tar.xz"

pytestmark = [pytest.mark.slow, pytest.mark.timeout(300), pytest.mark.xdist_group("servers")]


@pytest.fixture(scope="module")
def earlier(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """The folder of an installation that was migrated to today's schema, and what it printed before."""
    var = tmp_path_factory.mktemp("var")
    with tarfile.open(FIXTURE) as packed:
        packed.extractall(var, filter="data")
    run(var, "migrate", "--verbosity=0")
    said: dict[str, Any] = json.loads((var / "printed.json").read_text(encoding="utf-8"))
    return var, said


@pytest.fixture
def other_database() -> Iterator[str]:
    """An empty database on PostgreSQL, by its address."""
    url = os.environ.get("DATABASE_URL", "")
    skip_unless(url.startswith("postgres"), "postgresql", "DATABASE_URL names no PostgreSQL")
    import psycopg

    name = f"fanlight_moved_{os.getpid()}"
    with psycopg.connect(url, autocommit=True) as server:
        server.execute(f'DROP DATABASE IF EXISTS "{name}"')
        server.execute(f'CREATE DATABASE "{name}"')
        yield urlsplit(url)._replace(path=f"/{name}").geturl()
        server.execute(f'DROP DATABASE "{name}"')


def run(var: Path, *words: str, **more: str) -> str:
    done = manage(var, *words, **more)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def printed(var: Path, **more: str) -> dict[str, Any]:
    with (HERE / "printed.py").open() as script:
        done = subprocess.run(
            [sys.executable, "manage.py", "shell"], stdin=script, cwd=ROOT, env=environment(var, **more),
            capture_output=True, text=True, timeout=200,
        )  # fmt: skip
    lines = [line for line in done.stdout.splitlines() if line.startswith("PRINTED ")]
    assert lines, done.stderr
    said: dict[str, Any] = json.loads(lines[0].removeprefix("PRINTED "))
    return said


def test_the_fixture_is_small_and_says_something() -> None:
    assert FIXTURE.stat().st_size < 1_000_000
    with tarfile.open(FIXTURE) as packed:
        file = packed.extractfile("printed.json")
        assert file is not None
        said = json.load(file)
    assert len(said["pdf"]) > 200
    assert len(said["zones"]) == 8
    assert len({verdict for _, _, verdict, _ in said["signed"]}) >= 4


def test_the_same_figures_are_printed_after_the_upgrade(earlier: tuple[Path, dict[str, Any]]) -> None:
    var, before = earlier
    after = printed(var)
    assert after["digest"] == after["content"] == before["digest"], "what was signed is what is stored"
    for what in before:
        assert after[what] == before[what], what
    assert "All is as it was kept." in run(var, "verify", "--files=99", "--seed=1")


def test_a_backup_goes_into_a_database_that_has_no_tables_yet(
    earlier: tuple[Path, dict[str, Any]], tmp_path: Path
) -> None:
    """Also one that was made some migrations ago: they are made up for. The last one of these alters no table."""
    var, before = earlier
    kept, fresh = tmp_path / "kept", tmp_path / "fresh"
    run(var, "backup", str(kept))
    whole = manifest.read(kept)
    last = ("campaigns", "0019_rooms_have_bounds")
    assert last in whole.migrations
    fewer = tuple(step for step in whole.migrations if step != last)
    manifest.write(kept, replace(whole, migrations=fewer))
    run(fresh, "restore", str(kept))
    assert "[X] 0019_rooms_have_bounds" in run(fresh, "showmigrations", "campaigns")
    assert printed(fresh)["content"] == before["digest"]
    assert "All is as it was kept." in run(fresh, "verify", "--files=99", "--seed=1")


def test_everything_moves_to_postgresql(
    earlier: tuple[Path, dict[str, Any]], other_database: str, tmp_path: Path
) -> None:
    var, before = earlier
    run(var, "move", f"--to={other_database}", f"--by-way-of={tmp_path / 'way'}")
    there = {"DATABASE_URL": other_database}
    run(var, "backup", str(tmp_path / "again"), **there)
    tables = [{t.name: (t.rows, t.digest) for t in manifest.read(tmp_path / way).tables} for way in ("way", "again")]
    assert tables[0] == tables[1], "every table says the same on both databases"
    assert printed(var, **there)["content"] == before["digest"]
    assert "All is as it was kept." in run(var, "verify", "--files=99", "--seed=1", **there)
    again = manage(var, "move", f"--to={other_database}")
    assert again.returncode == 1
    assert "not empty" in again.stderr
