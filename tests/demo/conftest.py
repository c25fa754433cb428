"""The demo, loaded once for all tests of this folder's module and undone afterwards."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import pytest

from campaigns.models import Campaign, Instrument, Job
from campaigns.tasks import run_job
from demo.load import load
from demo.scenario import SCENARIO
from demo.simulate import Simulation, simulate
from readings.models import Upload
from readings.queries import Placed, placed_in
from tests.worlds import Undone


@dataclass
class Demo:
    campaign: Campaign
    jobs: list[Job]

    @cached_property
    def simulation(self) -> Simulation:
        """The same seed gives the same bytes, and with them what was true."""
        return simulate(SCENARIO)

    @cached_property
    def uploads(self) -> dict[str, Upload]:
        return {upload.filename: upload for upload in self.campaign.uploads.select_related("instrument")}

    @cached_property
    def placed(self) -> list[Placed]:
        """Formaldehyde, as the app places and corrects it."""
        return list(placed_in(self.campaign, parameter="formaldehyde"))

    def instrument(self, key: str) -> Instrument:
        return Instrument.objects.get(serial=SCENARIO.instrument(key).serial)


@pytest.fixture(scope="module")
def demo(undone: Undone) -> Iterator[Demo]:
    with undone():
        loaded = load()
        while waiting := Job.objects.filter(state=Job.State.QUEUED).order_by("pk").first():
            run_job(waiting.pk)
        yield Demo(loaded.campaign, list(Job.objects.order_by("pk")))
