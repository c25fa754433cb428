"""Random logs of one instrument, stored through the store: what tests of reading less hold against reading all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from campaigns.models import Campaign, Channel, ClockCheck, Deployment, FieldCheck, Instrument
from methods.clock import Basis, BurstsSoFar
from methods.quantities.arrays import Floats, Ints
from methods.quantities.durations import MINUTE_MS
from methods.quantities.flags import Flag
from methods.quantities.moments import stamp_ms, utc_moment, utc_ms
from readings.models import Upload
from readings.queries import rows
from readings.store import Batch, Intake, StampCounts, write
from tests import factories as make
from tests.readings.doing import EVER, WALL

START = utc_ms(make.START)  # what a right clock in Lisbon shows then is WALL


@dataclass
class Logger:
    """One instrument of one channel in a campaign, and the chance that makes its faults."""

    campaign: Campaign
    channel: Channel
    random: np.random.Generator
    files: int = 0

    @classmethod
    def new(cls, seed: int, **kind: object) -> Logger:
        instrument: Instrument = make.InstrumentFactory.create(
            **{f"type__{name}": value for name, value in kind.items()}
        )
        campaign = make.CampaignFactory.create(site__organisation=instrument.organisation)
        return cls(campaign, instrument.channels.get(), np.random.default_rng(seed))

    @property
    def instrument(self) -> Instrument:
        return self.channel.instrument

    def stays(self, *minutes: tuple[float, float | None]) -> list[Deployment]:
        """Deployments from and to minutes after START, each at a point of its own."""
        return [
            make.DeploymentFactory.create(
                campaign=self.campaign,
                instrument=self.instrument,
                starts_at=utc_moment(START + round(MINUTE_MS * first)),
                ends_at=None if last is None else utc_moment(START + round(MINUTE_MS * last)),
            )
            for first, last in minutes
        ]

    def clock_check(self, minute: float, fast_s: float) -> None:
        shown = WALL + timedelta(minutes=minute, seconds=fast_s)
        at = utc_moment(START + round(MINUTE_MS * minute))
        ClockCheck.objects.create(instrument=self.instrument, at=at, shown_ms=stamp_ms(shown))

    def field_check(self, minute: float, observed: float, reference: float = 0.0) -> None:
        FieldCheck.objects.create(
            channel=self.channel, kind="span" if reference else "zero", reference=reference, observed=observed,
            at=utc_moment(START + round(MINUTE_MS * minute)),
        )  # fmt: skip

    def stamps(self, minute: float, count: int, every_s: float) -> Ints:
        """What a right clock shows from ``minute`` after START on, every so many seconds."""
        true = START + round(MINUTE_MS * minute) + round(1000 * every_s) * np.arange(count, dtype=np.int64)
        return Basis.in_zone(self.campaign.site.time_zone).from_utc(true)

    def values(self, stamps: Ints) -> tuple[Floats, Ints]:
        """Of a stamp always the same: a slow wave with noise in steps of 0.001; few errors and values below."""
        slow = 0.05 + 0.03 * np.sin(stamps / 7.3e6)
        noise = ((stamps // 1000 * 2654435761) % 1009) / 1009
        raw = np.round(slow + 0.01 * noise, 3)
        flag = np.zeros(len(stamps), dtype=np.int64)
        odd = (stamps // 1000 * 40503) % 65_521
        flag[odd < 12] = Flag.SENSOR_ERROR
        flag[(odd >= 12) & (odd < 24)] = Flag.BELOW_DETECTION
        raw[flag == Flag.SENSOR_ERROR] = np.nan
        raw[flag == Flag.BELOW_DETECTION] = 0.005
        return raw, flag

    def with_gaps(self, stamps: Ints, gaps: int, longest: int) -> Ints:
        """``gaps`` stretches of up to ``longest`` readings are missing."""
        keep = np.ones(len(stamps), dtype=bool)
        for at in self.random.integers(0, len(stamps), gaps):
            keep[at : at + int(self.random.integers(1, longest + 1))] = False
        return stamps[keep]

    def hand_in(self, stamps: Ints, chunk: int = 5000, layout: dict[str, str] | None = None) -> Upload:
        """One file with these stamps in this order, stored as the worker does it."""
        self.files += 1
        bursts, repeats, file = BurstsSoFar(), StampCounts(), Intake()
        upload: Upload = Upload.objects.create(
            campaign=self.campaign, instrument=self.instrument, filename=f"{self.files}.csv", size=1,
            sha256=f"{self.files:064d}", state=Upload.State.READ, layout=layout,
        )  # fmt: skip
        for first in range(0, len(stamps), chunk):
            part = stamps[first : first + chunk]
            raw, flag = self.values(part)
            line = np.arange(first + 2, first + 2 + len(part))
            batch = Batch(self.channel.pk, upload.pk, part, repeats.number(part), raw, flag, line)
            file.last = first + chunk >= len(stamps)
            write([file.see(batch)], file)
            bursts.see(part)
        found = bursts.result()
        upload.bursts, upload.interval_ms = None if found is None else found.tolist(), bursts.interval_ms
        upload.first_stamp_ms, upload.last_stamp_ms = int(stamps.min()), int(stamps.max())
        upload.stored = int((rows(self.channel.pk, *EVER)["upload_id"] == upload.pk).sum())
        upload.save()
        return upload
