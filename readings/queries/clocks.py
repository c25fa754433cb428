"""The clock model of an instrument on a site, from what people entered."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
import numpy.typing as npt

from campaigns.models import Instrument, Site
from campaigns.stamps import utc_ms
from readings.clock import Basis, ClockCheck, ClockModel
from readings.queries.rows import Rows

Ints = npt.NDArray[np.int64]


def clock_of(instrument: Instrument, site: Site) -> ClockModel:
    """Basis as declared for the instrument; every clock check that was made with it."""
    match instrument.clock_basis:
        case Instrument.ClockBasis.UTC:
            basis = Basis.utc()
        case Instrument.ClockBasis.FIXED:
            basis = Basis.fixed(instrument.clock_offset_min)
        case _:
            basis = Basis.in_zone(site.time_zone)
    checks = tuple(ClockCheck(utc_ms(c.at), c.shown_ms) for c in instrument.clock_checks.all())
    return ClockModel(basis, checks)


def times_of(rows: Rows, clock: ClockModel, in_utc: Collection[int]) -> tuple[Ints, Ints]:
    """UTC ms (n,) and clock flags (n,) of ``rows``, which are in file order (upload, line).

    ``in_utc``: uploads whose file says UTC itself. Their stamps are first put back on the instrument's clock, because
    that is the clock the checks speak of.
    """
    stamps = rows["stamp"].copy()
    if in_utc and (said := np.isin(rows["upload_id"], list(in_utc))).any():
        stamps[said] = clock.basis.from_utc(stamps[said])
    utc, flags = clock.to_utc(stamps, rows["upload_id"])
    return utc, flags.astype(np.int64)
