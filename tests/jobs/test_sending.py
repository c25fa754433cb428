"""A web process knows the task that it sends by name, though nothing in it runs tasks."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ASK = "import django; django.setup(); from celery import current_app; from campaigns.enqueue import RUN_JOB; "


def test_a_process_that_runs_no_tasks_knows_the_one_it_sends() -> None:
    asked = [sys.executable, "-c", ASK + "print(current_app.tasks[RUN_JOB].name)"]
    done = subprocess.run(asked, cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert done.stdout.strip() == "campaigns.tasks.run_job", done.stderr
