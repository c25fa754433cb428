"""What people entered about the time of readings: clocks of instruments, and what files say of their stamps."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar, Self, cast

import numpy as np

from campaigns.models import ClockReset, Instrument, Site
from methods.clock import Basis, ClockModel, NotedCheck, ResetAnswer
from methods.logs.stamps.stamp_formats import middle_ms
from methods.logs.types import LOCAL
from methods.quantities.arrays import Ints
from methods.quantities.moments import utc_ms
from methods.quantities.stamp_convention import CONVENTIONS, StampConvention, StampConventions
from readings.models import Upload
from readings.queries.rows import Rows


@dataclass(frozen=True)
class Files:
    """What files say of their own stamps, by upload: ``in_utc`` those in UTC; ``middle_ms`` how far behind its stamp
    a reading lies on average, where stamps are coarse; ``represents`` what a stored value stands for, where the layout
    says so and not the instrument type.
    """

    ASKED: ClassVar = ("pk", "layout__basis", "layout__stamp_format", "kept_layout__represents")

    in_utc: frozenset[int] = frozenset()
    middle_ms: Mapping[int, int] = field(default_factory=dict)
    represents: Mapping[int, StampConvention] = field(default_factory=dict)

    @classmethod
    def of(cls, said: Iterable[tuple[Any, ...]]) -> Self:
        """From rows of ``ASKED``."""
        said = list(said)
        return cls(
            frozenset(pk for pk, basis, *_ in said if basis not in (None, LOCAL)),
            {pk: middle for pk, _, form, _ in said if form and (middle := middle_ms(form))},
            {pk: StampConvention(word) for pk, *_, word in said if word},
        )

    @classmethod
    def of_one(cls, upload: Upload) -> Self:
        layout, kept = upload.layout or {}, upload.kept_layout
        return cls.of([(upload.pk, layout.get("basis"), layout.get("stamp_format"), kept.represents if kept else "")])

    def conventions(self, uploads: Ints, instrument: Instrument) -> StampConventions:
        """What readings of these ``uploads`` (n,) stand for: one convention where all agree, else codes (n,)."""
        usual = represents(instrument)
        others = {pk: other for pk, other in self.represents.items() if other != usual}
        if not others or not len(uploads):
            return usual
        codes = np.full(len(uploads), CONVENTIONS.index(usual), dtype=np.int8)
        for pk, other in others.items():
            codes[uploads == pk] = CONVENTIONS.index(other)
        return codes if (codes != codes[0]).any() else CONVENTIONS[codes[0]]


def represents(instrument: Instrument) -> StampConvention:
    """As the instrument type says."""
    return StampConvention(instrument.type.represents)


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
    checks = tuple(NotedCheck(utc_ms(c.at), c.taken_ms) for c in instrument.clock_checks.all())
    return ClockModel(basis, checks, tuple(answer_of(reset) for reset in instrument.clock_resets.all()))


def answer_of(reset: ClockReset) -> ResetAnswer:
    answer = cast("Any", reset.answer)  # the model's choices are the answers there are
    return ResetAnswer((reset.before_ms, reset.after_ms), answer, reset.by_ms, reset.place_ms)


def times_of(rows: Rows, clock: ClockModel, files: Files) -> tuple[Ints, Ints]:
    """UTC ms (n,) and clock flags (n,) of ``rows``, which are in file order (upload, line).

    Of a file that says UTC itself the checks still speak of what the instrument's clock showed. Where whole minutes are
    printed a reading lies in the middle of its minute, give or take half of it, not at its beginning; and so was what
    a display without seconds showed at a check.
    """
    in_utc = np.isin(rows["upload_id"], list(files.in_utc)) if files.in_utc else False
    utc, flags = clock.to_utc(rows["stamp"], rows["upload_id"], in_utc)
    for upload, middle in files.middle_ms.items():
        utc[rows["upload_id"] == upload] += middle
    return utc, flags.astype(np.int64)
