"""Lines that say again what the line before them said: worth a word, not worth a loss."""

from __future__ import annotations

import numpy as np

from methods.logs.layouts.compiled_layout import CompiledLayout
from methods.logs.messages import problem
from methods.logs.types import Chunk, LogProblem
from methods.quantities.arrays import Bools


class RepeatedLines:
    """Counts neighbouring rows of one stamp and equal values, over the whole file.

    A logger that prints whole minutes stores several points in one of them, so there equal neighbours mean nothing.
    """

    def __init__(self, plan: CompiledLayout) -> None:
        form = plan.layout.stamp_format
        self.telling = "%S" in form or "%" not in form
        self.count = self.first_line = 0
        self._last: Chunk | None = None

    def see(self, chunk: Chunk) -> None:
        if not self.telling or not len(chunk.lines):
            return
        if self._last is not None and bool(_same(self._last, chunk, slice(-1, None), slice(0, 1)).any()):
            self._note(int(chunk.lines[0]), 1)
        again = np.flatnonzero(_same(chunk, chunk, slice(0, -1), slice(1, None)))
        if len(again):
            self._note(int(chunk.lines[again[0] + 1]), len(again))
        self._last = Chunk(chunk.lines[-1:], chunk.stamps[-1:], chunk.values[-1:], chunk.flags[-1:])

    def _note(self, line: int, count: int) -> None:
        self.first_line = self.first_line or line
        self.count += count

    def closing(self) -> list[LogProblem]:
        if not self.count:
            return []
        return [problem(self.first_line, "", str(self.count), "duplicate_rows", count=f"{self.count:,}")]


def _same(a: Chunk, b: Chunk, left: slice, right: slice) -> Bools:
    same: Bools = a.stamps[left] == b.stamps[right]
    if not same.any():
        return same
    value, other = a.values[left], b.values[right]
    equal = ((value == other) | (np.isnan(value) & np.isnan(other))) & (a.flags[left] == b.flags[right])
    told = ~np.isnan(value) | (a.flags[left] != 0)
    return same & np.asarray(equal.all(axis=1) & told.any(axis=1), dtype=np.bool_)
