"""Starting Fanlight, or its settings alone, with another environment."""

from __future__ import annotations

import os
import runpy
import subprocess
import sys
from pathlib import Path
from typing import Any
from unittest.mock import patch

ROOT = Path(__file__).resolve().parents[2]
OURS = ("FANLIGHT_", "S3_", "DATABASE_URL", "REDIS_URL", "DJANGO_")


def environment(var: Path, **more: str) -> dict[str, str]:
    """This process's environment without anything of ours, and ``more``."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(OURS)}
    return {**kept, "FANLIGHT_VAR": str(var), **more}


def settings_with(var: Path, **more: str) -> dict[str, Any]:
    """The settings as a process with this environment would have them; this process keeps its own."""
    with patch.dict(os.environ, environment(var, **more), clear=True):
        return runpy.run_path(str(ROOT / "config" / "settings.py"))


def manage(var: Path, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=ROOT, env=environment(var, **more), capture_output=True, text=True, timeout=100,
    )  # fmt: skip
