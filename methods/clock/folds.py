"""Which pass of a repeated hour a stamp belongs to, told by the order in the file."""

from __future__ import annotations

import numpy as np

from methods.quantities.arrays import Bools, Ints


def typical_gap_ms(stamps_ms: Ints) -> int | None:
    """Median gap between neighbours that are apart, in whichever direction the file runs; None without one."""
    gaps = np.abs(np.diff(stamps_ms))
    gaps = gaps[gaps > 0]
    return int(np.median(gaps)) if gaps.size else None


def newest_first(stamps_ms: Ints) -> bool:
    """Whether the file lists its latest reading first: more steps lead back than forward."""
    return steps_back(stamps_ms) > 0


def steps_back(stamps_ms: Ints) -> int:
    """Steps that lead back in the order of the file, less those that lead forward."""
    steps = np.diff(stamps_ms)
    return int(np.count_nonzero(steps < 0)) - int(np.count_nonzero(steps > 0))


def backward_steps(stamps_ms: Ints, utc_ms: Ints) -> Ints:
    """Indices i, in file order, at which the clock went back: a stamp before its predecessor, and no repeated hour.

    ``utc_ms`` are the same stamps on their basis, where a resolved repeated hour no longer steps back.
    """
    sign = -1 if newest_first(utc_ms) else 1
    steps = (sign * np.diff(stamps_ms) < 0) & (sign * np.diff(utc_ms) < 0)
    return np.flatnonzero(steps) + 1


def second_pass(stamps_ms: Ints, repeated: Ints, change: Ints, length_ms: Ints) -> tuple[Bools, Bools]:
    """For ``repeated`` (k,), indices of stamps in a repeated hour: is it the second pass, and is that resolved.

    ``change`` (k,) tells one clock change from another, ``length_ms`` (k,) how long the hour is. One backward step
    between neighbours inside the hour marks the change; none, or several, leave the hour unresolved. A logger with
    an interval as long as the hour shows the same stamp twice, so there an equal neighbour counts as the step.
    """
    second = np.zeros(repeated.shape, dtype=bool)
    resolved = np.zeros(repeated.shape, dtype=bool)
    backwards = newest_first(stamps_ms)
    typical = typical_gap_ms(stamps_ms) or 0
    for fold in np.unique(change):
        group = np.flatnonzero(change == fold)
        where = group[::-1] if backwards else group
        rows = repeated[where]
        steps = np.diff(stamps_ms[rows])
        falls = (steps < 0) | ((steps == 0) & (3 * typical >= 2 * length_ms[where[0]]))
        falls &= np.abs(np.diff(rows)) == 1
        marks = np.flatnonzero(falls)
        if marks.size == 1:
            second[where[marks[0] + 1 :]] = True
            resolved[where] = True
    return second, resolved
