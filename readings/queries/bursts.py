"""A log as stretches of unbroken logging, laid beside the deployments of its instrument.

The stretches are noted while a file is read, so that nothing here has to look at single readings again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from campaigns.models import Deployment, Instrument, QualityRun, Site
from methods.clock import BurstsSoFar, ClockModel, Reset, Suggestion, fit_at, resets, suggest_offset
from methods.logs.stamps.stamp_formats import middle_ms
from methods.logs.types import LOCAL
from methods.quantities.arrays import Flags, Ints
from methods.quantities.durations import DAY_MS
from methods.quantities.moments import utc_ms
from readings.models import Upload
from readings.queries.clock_facts import clock_of
from readings.queries.upload_placement import lines_of


@dataclass(frozen=True, eq=False)
class Bursts:
    """Of one file, oldest first: ``first`` and ``last`` stamp of each (k,), on the instrument's own clock."""

    first: Ints
    last: Ints
    interval_ms: int

    def __len__(self) -> int:
        return len(self.first)

    @property
    def stamps(self) -> Ints:
        """Both stamps of each burst, in turn, (2k,): for a clock model that looks for steps back."""
        return np.column_stack((self.first, self.last)).ravel()

    def on(self, utc: Ints) -> Ints:
        """(k, 2): from UTC (2k,) of ``stamps``, each burst to one interval after its last reading."""
        edges: Ints = utc.reshape(-1, 2) + np.array([0, self.interval_ms])
        return edges


@dataclass(frozen=True, eq=False)
class Stretch:
    """Bursts between two settings of the clock, and what laying them on deployments says.

    ``nominal`` and ``placed`` (k, 2): UTC by the clock's basis alone, and as the clock is understood now; where stamps
    are coarse, a reading lies ``middle_ms`` behind its stamp.
    ``checked``: whether clock checks, or an answer to where the clock was set, speak for it.
    """

    bursts: Bursts
    nominal: Ints
    placed: Ints
    spans: Ints
    checked: bool
    doubtful: bool
    middle_ms: int = 0

    @cached_property
    def suggestion(self) -> Suggestion:
        return suggest_offset(self.nominal, self.spans, self.bursts.interval_ms)

    @property
    def used_ms(self) -> int:
        """Offset (true − shown) used now, in the middle of the stretch."""
        k = len(self.nominal) // 2
        return int(self.placed[k, 0] - self.nominal[k, 0])

    @cached_property
    def fits_now(self) -> tuple[int, float]:
        """Bursts on a deployment as the clock is understood now, and the share of their time."""
        return fit_at(self.placed, self.spans)

    def fits_at(self, offset_ms: int) -> tuple[int, float]:
        return fit_at(self.nominal, self.spans, offset_ms)


@dataclass(frozen=True, eq=False)
class Laid:
    """One file beside the deployments of its instrument. ``spans`` (m, 2): theirs, then those of its quality runs, UTC
    ms."""

    upload: Upload
    clock: ClockModel
    bursts: Bursts
    deployments: list[Deployment]
    spans: Ints
    stretches: list[Stretch]
    resets: list[Reset]


def laid(upload: Upload, stood: list[Deployment] | None = None, runs: Ints | None = None) -> Laid | None:
    """None for a file without readings, or whose instrument is not known. ``stood`` and ``runs``: what ``deployed`` and
    ``runs_of`` say, where the caller has it."""
    if upload.instrument is None or upload.first_stamp_ms is None:
        return None
    bursts = bursts_of(upload)
    if not len(bursts):
        return None
    site = upload.campaign.site
    clock = clock_of(upload.instrument, site)
    in_utc = (upload.layout or {}).get("basis", LOCAL) != LOCAL
    on_clock, nominal, _ = clock.basis.shown_and_meant(bursts.stamps, in_utc=in_utc)
    shown = Bursts(on_clock[::2], on_clock[1::2], bursts.interval_ms)
    deployments = deployed(upload.instrument, site) if stood is None else stood
    until = int(nominal.max()) + 2 * DAY_MS
    in_runs = runs_of(upload.instrument, site) if runs is None else runs
    spans = np.concatenate([spans_of(deployments, until), in_runs])
    placed, flags = clock.to_utc(bursts.stamps, in_utc=in_utc)
    middle = middle_ms((upload.layout or {}).get("stamp_format", ""))
    nominal, placed = nominal + middle, placed + middle
    clock_resets = resets(bursts.stamps, clock.checks, clock.basis, in_utc=in_utc)
    cut = _stretches(shown, nominal, placed, flags, clock, clock_resets, spans)
    stretches = [replace(stretch, middle_ms=middle) for stretch in cut]
    return Laid(upload, clock, shown, deployments, spans, stretches, clock_resets)


def deployed(instrument: Instrument, site: Site) -> list[Deployment]:
    """Deployments of the instrument at sites that have the same time: a memory holds other campaigns, too."""
    same_time = instrument.deployments.filter(campaign__site__time_zone=site.time_zone)
    return list(same_time.select_related("point__room", "campaign").order_by("starts_at"))


def runs_in(instrument: Instrument, site: Site) -> list[QualityRun]:
    """Its quality runs at sites that have the same time."""
    return list(instrument.quality_runs.filter(campaign__site__time_zone=site.time_zone).order_by("starts_at"))


def runs_of(instrument: Instrument, site: Site) -> Ints:
    """(m, 2) UTC ms: the same. It is in them as it is at a point."""
    spans = [(utc_ms(run.starts_at), utc_ms(run.ends_at)) for run in runs_in(instrument, site)]
    return np.array(spans, dtype=np.int64).reshape(-1, 2)


def spans_of(deployments: Iterable[Deployment], until: int) -> Ints:
    """(m, 2) UTC ms; one that is still open ends at ``until``, or at its start if that is later."""
    spans = [(start := utc_ms(d.starts_at), utc_ms(d.ends_at) if d.ends_at else max(start, until)) for d in deployments]
    return np.array(spans, dtype=np.int64).reshape(-1, 2)


def bursts_of(upload: Upload) -> Bursts:
    """As noted when the file was read; else from its stored readings. In the stamps of the file."""
    if upload.bursts is not None and upload.interval_ms:
        edges, interval = np.array(upload.bursts, dtype=np.int64).reshape(-1, 2), upload.interval_ms
    else:
        seen = BurstsSoFar()
        seen.see(lines_of(upload)["stamp"])
        stored_edges = seen.result()
        if stored_edges is None or seen.interval_ms is None:
            nothing = np.zeros(0, dtype=np.int64)
            return Bursts(nothing, nothing, 1)
        edges, interval = stored_edges, seen.interval_ms
    return Bursts(edges[:, 0], edges[:, 1] - interval, interval)


def _stretches(
    bursts: Bursts,
    nominal: Ints,
    placed: Ints,
    flags: Flags,
    clock: ClockModel,
    clock_resets: list[Reset],
    spans: Ints,
) -> list[Stretch]:
    """Cut where the stamps step back, unless a person said that the clock was not set there."""
    no_cut = {said.place for said in clock.answers if said.answer == "not-set"}
    steps = [r.index for r in clock_resets if r.kind == "backward" and r.index is not None and r.place not in no_cut]
    edges = [0, *sorted(index // 2 for index in steps), len(bursts)]
    said = any(answer.answer != "not-set" for answer in clock.answers)
    out = []
    for start, stop in pairwise(edges):
        if start == stop:
            continue
        part = slice(start, stop)
        marks = flags.reshape(-1, 2)[part]
        out.append(
            Stretch(
                Bursts(bursts.first[part], bursts.last[part], bursts.interval_ms),
                bursts.on(nominal)[part],
                bursts.on(placed)[part],
                spans,
                checked=bool(clock.checks or said) and not bool(marks.all()),
                doubtful=bool(marks.any()),
            )
        )
    return out
