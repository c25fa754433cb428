"""Where the readings of one file lie: which deployments they fall into, and which stay outside every one."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from campaigns.models import Deployment, QualityRun
from methods.placing import OPEN_MS, UNPLACED, assign, typical_interval_ms
from methods.quantities.arrays import Ints
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import utc_ms
from readings.models import Reading, Upload
from readings.queries.clock_facts import Files, clock_of, times_of
from readings.queries.rows import ROW, Rows, rows


@dataclass(frozen=True)
class Share:
    """Lines of the file that fall into one deployment; times are UTC ms of its first and last line there."""

    deployment: Deployment
    lines: int
    first_ms: int
    last_ms: int


@dataclass(frozen=True)
class Placement:
    """``in_runs``: lines inside quality runs, which are in no deployment and need none."""

    shares: list[Share] = field(default_factory=list)
    in_runs: int = 0
    unplaced: int = 0
    unplaced_first_ms: int | None = None
    unplaced_last_ms: int | None = None
    doubtful: int = 0

    @property
    def lines(self) -> int:
        return self.unplaced + self.in_runs + sum(share.lines for share in self.shares)


def placement_of(upload: Upload) -> Placement:
    """Lines of the file by deployment. A reading counts once however many channels its line has.

    A memory holds what it stored for other campaigns, too: their deployments count where the site has the same time.
    """
    if upload.instrument is None or upload.first_stamp_ms is None:
        return Placement()
    lines = lines_of(upload)
    if not len(lines):
        return Placement()
    site, files = upload.campaign.site, Files.of_one(upload)
    utc, doubtful = times_of(lines, clock_of(upload.instrument, site), files)
    of_instrument = upload.instrument.deployments.filter(campaign__site__time_zone=site.time_zone)
    deployments = list(of_instrument.select_related("point__room", "campaign"))
    runs = list(upload.instrument.quality_runs.filter(campaign__site__time_zone=site.time_zone))
    stood: list[Deployment | QualityRun] = [*deployments, *runs]
    starts = [utc_ms(row.starts_at) for row in stood]
    ends = [utc_ms(row.ends_at) if row.ends_at else OPEN_MS for row in stood]
    interval = typical_interval_ms(lines["stamp"]) or MINUTE_MS
    where = assign(utc, starts, ends, files.conventions(lines["upload_id"], upload.instrument), interval)
    outside = utc[where == UNPLACED]
    return Placement(
        shares=[_share(d, utc[where == k]) for k, d in enumerate(deployments) if (where == k).any()],
        in_runs=int(np.count_nonzero(where >= len(deployments))),
        unplaced=len(outside),
        unplaced_first_ms=int(outside.min()) if len(outside) else None,
        unplaced_last_ms=int(outside.max()) if len(outside) else None,
        doubtful=int(np.count_nonzero(doubtful)),
    )


def anything_from(upload: Upload) -> bool:
    """Whether any reading of the file is stored, also from a run that was cut short before it could count them."""
    if upload.instrument is None:
        return False
    return Reading.objects.filter(channel__in=upload.instrument.channels.all(), upload=upload).exists()


def _share(deployment: Deployment, utc: Ints) -> Share:
    return Share(deployment, len(utc), int(utc.min()), int(utc.max()))


def lines_of(upload: Upload) -> Rows:
    """One row a line, in file order."""
    assert upload.instrument is not None
    assert upload.first_stamp_ms is not None
    assert upload.last_stamp_ms is not None
    parts = []
    for channel in upload.instrument.channels.all():
        stored = rows(channel.pk, upload.first_stamp_ms, upload.last_stamp_ms)
        parts.append(stored[stored["upload_id"] == upload.pk])
    together = np.concatenate(parts) if parts else np.zeros(0, dtype=ROW)
    _, first = np.unique(together["line"], return_index=True)
    return together[first]
