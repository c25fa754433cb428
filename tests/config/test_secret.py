"""The embedded default's key: made once, agreed on, and nobody else's to read."""

from __future__ import annotations

import stat
import subprocess
import sys
from pathlib import Path

from config.secret import stored_secret
from tests.config.starting import ROOT, settings_with


def test_made_once(tmp_path: Path) -> None:
    first = stored_secret(tmp_path / "secret_key")
    assert len(first) >= 50
    assert stored_secret(tmp_path / "secret_key") == first
    assert [p.name for p in tmp_path.iterdir()] == ["secret_key"], "no draft is left"


def test_two_places_have_two_keys(tmp_path: Path) -> None:
    assert stored_secret(tmp_path / "a") != stored_secret(tmp_path / "b")


def test_readable_by_its_owner_only(tmp_path: Path) -> None:
    stored_secret(tmp_path / "secret_key")
    assert stat.S_IMODE((tmp_path / "secret_key").stat().st_mode) == 0o600


def test_an_old_key_is_kept(tmp_path: Path) -> None:
    (tmp_path / "secret_key").write_text("as before")
    assert stored_secret(tmp_path / "secret_key") == "as before"


def test_processes_that_start_at_once_agree(tmp_path: Path) -> None:
    """Each waits for the starting shot, so that they meet in the moment in which there is no file yet."""
    code = (
        "import sys, pathlib; from config.secret import stored_secret; sys.stdin.readline();"
        "print(stored_secret(pathlib.Path(sys.argv[1])))"
    )
    command = [sys.executable, "-c", code, str(tmp_path / "secret_key")]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
    runners = [subprocess.Popen(command, cwd=ROOT, text=True, **pipes) for _ in range(3)]  # type: ignore[call-overload]
    for runner in runners:
        runner.stdin.write("go\n")
        runner.stdin.flush()
    keys = {runner.communicate(timeout=60)[0].strip() for runner in runners}
    assert keys == {(tmp_path / "secret_key").read_text()}


def test_the_settings_take_it_unless_they_are_told_one(tmp_path: Path) -> None:
    assert settings_with(tmp_path)["SECRET_KEY"] == (tmp_path / "secret_key").read_text()
    assert settings_with(tmp_path, FANLIGHT_SECRET_KEY="told")["SECRET_KEY"] == "told"
