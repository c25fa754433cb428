"""Every two logs laid on each other at every lag: on all days together, and day by day."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from methods.clock.rises import Rises
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.durations import HOUR_MS, MINUTE_MS

#: So far apart may two logs be.
FURTHEST_MS = 6 * HOUR_MS
#: A rival lies at least this far from the best lag: nearer ones tell the same story.
RIVAL_MS = 45 * MINUTE_MS
#: Least correlation and confidence at which two logs rise together over D days: ``ALL_R + FEW_DAYS_R / √D``.
ALL_R, FEW_DAYS_R, ALL_SURE = 0.5, 0.35, 0.3
#: The same for one day of two logs that rise together.
DAY_R, DAY_SURE = 0.6, 0.35
#: So many changes, about, must carry a day's correlation: one or two meet by chance.
LEAST_SHARED = 5.0
#: Bins that one change fills, about, once it is spread.
FILLED = 2.0


@dataclass(frozen=True, eq=False)
class LagPairs:
    """For each pair (p,) of logs, ``first`` before ``second``, by how much the second lags the first.

    ``usual_ms`` (p,) over all days, and whether they then rise together; ``day_ms`` (p, days), and whether the day
    speaks: for the same lag or for another.
    """

    first: Ints
    second: Ints
    usual_ms: Ints
    rises_together: Bools
    confidence: Floats
    day_ms: Ints
    day_speaks: Bools
    day_confidence: Floats


def pairs_of(rises: Rises) -> LagPairs:
    z = rises.z
    count, bins = z.shape[0], z.shape[2]
    reach = min(FURTHEST_MS // rises.grid_ms, bins - 1)
    size = 1 << int(bins + reach - 1).bit_length()
    spectra = np.fft.rfft(z, size)
    energy = np.sum(z**2, axis=2)
    parts = [_laid(spectra, energy, k, reach, size, max(1, RIVAL_MS // rises.grid_ms), rises) for k in range(count - 1)]
    return LagPairs(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def _laid(
    spectra: npt.NDArray[np.complex128],
    energy: Floats,
    first: int,
    reach: int,
    size: int,
    apart: int,
    rises: Rises,
) -> tuple[Ints, Ints, Ints, Bools, Floats, Ints, Bools, Floats]:
    """One log against all that come after it."""
    others = np.arange(first + 1, len(spectra))
    both = np.fft.irfft(spectra[others] * np.conj(spectra[first]), size)
    both = np.concatenate((both[..., -reach:], both[..., : reach + 1]), axis=-1)  # (others, days, lags)
    norm = np.sqrt(energy[others] * energy[first])
    all_norm = np.sqrt(energy[others].sum(axis=1) * energy[first].sum())
    all_best, all_r, all_sure = _peaks(both.sum(axis=1), all_norm, apart)
    best, r, sure = _peaks(both, norm, apart)
    shared_days = np.maximum(np.sum(norm > 0, axis=1), 1)
    together = (all_r >= ALL_R + FEW_DAYS_R / np.sqrt(shared_days)) & (all_sure >= ALL_SURE)
    speaks = together[:, None] & (r >= DAY_R) & (sure >= DAY_SURE)
    for k, day in zip(*np.nonzero(speaks), strict=True):
        lag = int(best[k, day]) - reach
        speaks[k, day] = _shared(rises.z[first, day], rises.z[others[k], day], lag) >= LEAST_SHARED
    grid = rises.grid_ms
    return (
        np.full(len(others), first), others, (all_best - reach) * grid, together, all_sure, (best - reach) * grid,
        speaks, sure,
    )  # fmt: skip


def _peaks(laid: Floats, norm: Floats, apart: int) -> tuple[Ints, Floats, Floats]:
    """(…, lags) → place of the best, its correlation, and (best − next best) / best; 0 where nothing moved."""
    best = laid.argmax(axis=-1)
    top = np.take_along_axis(laid, best[..., None], axis=-1)[..., 0]
    near = np.abs(np.arange(laid.shape[-1]) - best[..., None]) < apart
    rival = np.where(near, 0.0, laid).max(axis=-1)
    moved = (norm > 0) & (top > 0)
    r = np.where(moved, top / np.where(norm > 0, norm, 1.0), 0.0)
    return best, r, np.where(moved, 1.0 - rival / np.where(top > 0, top, 1.0), 0.0)


def _shared(one: Floats, other: Floats, lag: int) -> float:
    """About how many changes carry the correlation at ``lag`` bins: (Σp)² / Σp² over what both did, in changes."""
    here, there = (one, other) if lag >= 0 else (other, one)
    product = here[: len(here) - abs(lag)] * there[abs(lag) :]
    total = float(product.sum())
    return total**2 / float(np.sum(product**2)) / FILLED if total > 0 else 0.0
