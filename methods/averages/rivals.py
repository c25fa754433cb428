"""How many others might have been the worst by chance, and how many of them share no noise with each other."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

import numpy as np

from methods.quantities.arrays import Bools


class Within(NamedTuple):
    """``distance``: how far from the worst mean another may lie and might have been it; ``apart``: from how many
    readings on two windows share no noise."""

    distance: float = inf
    apart: float = inf


class Rivals(NamedTuple):
    """``near``: over how many readings those lie that share noise with the one before; ``apart``: how many share none
    with it, as each of several peaks does."""

    near: int = 0
    apart: int = 0


ANYWHERE, NO_RIVALS = Within(), Rivals()


def rivals_of(there: Bools, within: Within) -> Rivals:
    """``there`` [n]: by reading, whether a window that might have been the worst begins or ends with it. At least
    one does, the worst itself."""
    steps = np.diff(np.flatnonzero(there))
    apart = steps >= within.apart
    return Rivals(int(steps[~apart].sum()), int(np.count_nonzero(apart)))
