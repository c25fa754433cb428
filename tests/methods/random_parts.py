"""What noise and scatter leave of a mean, for tests of budgets: as plain numbers."""

from __future__ import annotations

from math import inf

from methods.uncertainty.budget import Component, Scatter, noise_part
from methods.uncertainty.noise import Noise, effective_n


def noisy(s: float | None, n: int, rho: float = 0.0, *, is_known: bool = False) -> tuple[Component]:
    """The noise ``s`` of single readings in a mean of ``n`` of them; estimated from as many, unless it is known."""
    dof = inf if is_known else max(effective_n(n, rho) - 1, 1.0)
    return (noise_part(Noise(s, rho, dof), Scatter(n, s, rho, 0)),)
