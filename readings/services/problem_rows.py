"""What was wrong in a file, as a row."""

from __future__ import annotations

from methods.logs.types import LogProblem
from methods.wording.plain_text import visible
from readings.models import Problem, Upload


def problem_row(upload: Upload, problem: LogProblem) -> Problem:
    """Not saved yet. What the file holds is told with signs in place of what nobody would see."""
    return Problem(
        upload=upload,
        line=problem.line,
        column=visible(problem.column)[:100],
        value=visible(problem.value)[:200],
        code=problem.code,
        message=visible(problem.message),
    )
