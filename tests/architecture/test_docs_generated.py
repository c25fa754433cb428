"""The glossary is up to date, and the example of ``docs/methods-as-a-library.md`` runs as it stands there."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

from tests.architecture.glossary import PAGE, first_sentence, glossary

ROOT = Path(__file__).resolve().parents[2]
LIBRARY_PAGE = ROOT / "docs" / "methods-as-a-library.md"
FRAMEWORKS = ("django", "rest_framework", "celery", "psycopg")


def test_the_glossary_is_up_to_date() -> None:
    assert PAGE.read_text(encoding="utf-8") == glossary(), "run: make docs"


def test_every_thing_has_its_meaning() -> None:
    things = PAGE.read_text(encoding="utf-8").split("## Things")[1].split("##")[0]
    assert re.findall(r"^\| ([^|]+) \|  \|", things, re.MULTILINE) == []


def test_the_first_sentence_ends_where_a_sentence_does() -> None:
    assert first_sentence("A value of 0.5 mg/m³. ``None`` without.") == "A value of 0.5 mg/m³. ``None`` without."
    assert first_sentence("Shown when it was truly\n    so. Later more.\n\n    Body.") == "Shown when it was truly so."
    assert first_sentence(None) == ""


def fenced(kind: str) -> str:
    (block,) = re.findall(rf"^```{kind}\n(.*?)^```", LIBRARY_PAGE.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL)
    return str(block)


def test_five_lines_from_a_log_to_a_verdict() -> None:
    """In a process of its own, which knows nothing of Django's settings and is to load no framework."""
    code = fenced("python")
    lines = [line for line in code.splitlines() if line and not line.startswith(("from ", "import "))]
    assert len(lines) == 5
    check = f"import sys\nassert not {{*{FRAMEWORKS}}} & {{*sys.modules}}, 'a framework was loaded'\n"
    apart = {name: value for name, value in os.environ.items() if name != "DJANGO_SETTINGS_MODULE"}
    run = subprocess.run(
        [sys.executable, "-c", f"{code}\n{check}"],
        cwd=ROOT,
        env={**apart, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert run.stderr == ""
    assert run.stdout == fenced("text")
