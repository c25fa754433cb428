"""Reading any sensible log: sniff what a file is (:func:`understand`), then read it in chunks (:func:`read`).

Pure, constant memory. Readers are scored against each other; what a machine cannot decide becomes a question, what is
wrong at a line becomes a problem, and what is no log at all is said to be none.
"""

from __future__ import annotations

from methods.logs.bounded import read, understand
from methods.logs.types import (
    Chunk,
    Column,
    ColumnRole,
    Layout,
    LayoutQuestion,
    LogProblem,
    LogSheet,
    Understanding,
    Unreadable,
)

__all__ = [
    "Chunk",
    "Column",
    "ColumnRole",
    "Layout",
    "LayoutQuestion",
    "LogProblem",
    "LogSheet",
    "Understanding",
    "Unreadable",
    "read",
    "understand",
]
