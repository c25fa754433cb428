"""The clock model of an instrument on a site, from what people entered."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Self, cast

import numpy as np
import numpy.typing as npt

from campaigns.models import ClockReset, Instrument, Site
from campaigns.stamps import utc_ms
from readings.clock import Basis, ClockCheck, ClockModel, ResetAnswer
from readings.formats.moments import middle_ms
from readings.formats.types import LOCAL
from readings.queries.rows import Rows

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Files:
    """What files say of their own stamps, by upload: ``in_utc`` those in UTC; ``middle_ms`` how far behind its stamp
    a reading lies on average, where stamps are coarse.
    """

    in_utc: frozenset[int] = frozenset()
    middle_ms: Mapping[int, int] = field(default_factory=dict)

    @classmethod
    def of(cls, said: Iterable[tuple[int, str | None, str | None]]) -> Self:
        """From (upload, ``layout__basis``, ``layout__stamp_format``)."""
        said = list(said)
        middles = {pk: middle for pk, _, form in said if form and (middle := middle_ms(form))}
        return cls(frozenset(pk for pk, basis, _ in said if basis not in (None, LOCAL)), middles)


def clock_of(instrument: Instrument, site: Site) -> ClockModel:
    return clock_in(instrument, site.time_zone)


def clock_in(instrument: Instrument, time_zone: str) -> ClockModel:
    """Basis as declared for the instrument; every clock check made with it, every answer to where it was set.

    ``time_zone``: of the site where it stands, for a clock on the site's time.
    """
    match instrument.clock_basis:
        case Instrument.ClockBasis.UTC:
            basis = Basis.utc()
        case Instrument.ClockBasis.FIXED:
            basis = Basis.fixed(instrument.clock_offset_min)
        case _:
            basis = Basis.in_zone(time_zone)
    checks = tuple(ClockCheck(utc_ms(c.at), c.shown_ms) for c in instrument.clock_checks.all())
    return ClockModel(basis, checks, tuple(answer_of(reset) for reset in instrument.clock_resets.all()))


def answer_of(reset: ClockReset) -> ResetAnswer:
    answer = cast("Any", reset.answer)  # the model's choices are the answers there are
    return ResetAnswer((reset.before_ms, reset.after_ms), answer, reset.by_ms, reset.place_ms)


def times_of(rows: Rows, clock: ClockModel, files: Files) -> tuple[Ints, Ints]:
    """UTC ms (n,) and clock flags (n,) of ``rows``, which are in file order (upload, line).

    Stamps of a file that says UTC itself are first put back on the instrument's clock, because that is the clock the
    checks speak of. Where whole minutes are printed a reading lies in the middle of its minute, give or take half of
    it, not at its beginning; checks are taken to the second, as they were entered.
    """
    stamps = rows["stamp"].copy()
    if files.in_utc and (said := np.isin(rows["upload_id"], list(files.in_utc))).any():
        stamps[said] = clock.basis.from_utc(stamps[said])
    utc, flags = clock.to_utc(stamps, rows["upload_id"])
    for upload, middle in files.middle_ms.items():
        utc[rows["upload_id"] == upload] += middle
    return utc, flags.astype(np.int64)
