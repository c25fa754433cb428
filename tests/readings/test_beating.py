"""A job says that it is alive while a file is understood and while a chunk of it is read, however long that takes."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import pytest

from campaigns.models import Campaign, Instrument, Job
from methods.logs import sniffing
from methods.logs.types import Chunk
from readings.services import prefetch
from readings.services.prefetch import meanwhile, one_ahead
from tests.readings.doing import a_log, hand_in, read


@pytest.fixture(autouse=True)
def _quickly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(prefetch, "WAIT_S", 0.02)
    monkeypatch.setattr("campaigns.models.jobs.BEAT_S", 0.02)


@pytest.fixture
def beats(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    beats: list[float] = []
    real = Job.beat

    def beat(job: Job, *args: Any, **kwargs: Any) -> None:
        beats.append(time.monotonic())
        real(job, *args, **kwargs)

    monkeypatch.setattr(Job, "beat", beat)
    return beats


def test_while_a_file_is_understood(
    campaign: Campaign, meter: Instrument, beats: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    spans: list[tuple[float, float]] = []
    real = sniffing._understand

    def slowly(*args: Any) -> Any:
        began = time.monotonic()
        time.sleep(0.5)
        spans.append((began, time.monotonic()))
        return real(*args)

    monkeypatch.setattr(sniffing, "_understand", slowly)
    job = read(hand_in(campaign, a_log([0.01, 0.02]), "slow.csv", meter))
    assert job.state == Job.State.DONE
    ((began, ended),) = spans
    assert sum(began < beat < ended for beat in beats) >= 3


def test_while_a_chunk_is_read() -> None:
    waits: list[int] = []

    def slow() -> Iterator[int]:
        time.sleep(0.3)
        yield 1
        time.sleep(0.3)

    with one_ahead(slow(), lambda: waits.append(1)) as items:
        assert list(items) == [1]
    assert len(waits) >= 6


def test_an_error_that_says_time_out_is_the_works_own() -> None:
    def fails() -> Chunk:
        raise TimeoutError("of the storage")

    with pytest.raises(TimeoutError, match="of the storage"):
        meanwhile(fails, prefetch.patiently)


def test_who_lost_the_lease_meanwhile_stops() -> None:
    class Lost(Exception):
        pass

    def lost() -> None:
        raise Lost

    with pytest.raises(Lost):
        meanwhile(lambda: time.sleep(0.2), lost)
