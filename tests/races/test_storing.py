"""Two workers bring the same readings at the same moment: overlapping downloads of one memory."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from django.db import transaction

from campaigns.models import Campaign, Channel
from readings.models import Upload
from readings.queries import rows
from readings.queries.aside_stretches import held_rows
from readings.store import Batch, StoreTally, merge, write
from tests import factories as make
from tests.races.meeting import Meeting, at_once

pytestmark = pytest.mark.django_db(transaction=True)

EVER = (-(2**62), 2**62)


@pytest.fixture
def channels(transactional_db: None) -> list[Channel]:
    instrument = make.InstrumentFactory.create()
    make.ChannelSpecFactory.create(instrument_type=instrument.type, parameter="co2", range_high=5000)
    return list(instrument.channels.order_by("pk"))


@pytest.fixture
def uploads(channels: list[Channel]) -> list[Upload]:
    campaign: Campaign = make.CampaignFactory.create(site__organisation=channels[0].instrument.organisation)
    return [Upload.objects.create(campaign=campaign, filename=str(n), size=1, sha256=f"{n:064d}") for n in range(2)]


def batch(channel: Channel, upload: Upload, stamps: np.ndarray, raw: np.ndarray) -> Batch:
    n = len(stamps)
    none = np.zeros(n, dtype=np.int64)
    return Batch(channel.pk, upload.pk, stamps, none, raw, none, np.arange(1, n + 1))


def storing(*batches: Batch) -> Callable[[], StoreTally]:
    def store() -> StoreTally:
        with transaction.atomic():
            return write(list(batches))

    return store


@pytest.fixture
def _both_look_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """They meet when both have looked what is held, and neither has written."""
    monkeypatch.setattr(merge, "held_rows", Meeting().after(held_rows))


@pytest.mark.usefixtures("_both_look_first")
def test_each_reading_is_held_once_whoever_brings_it(channels: list[Channel], uploads: list[Upload]) -> None:
    channel = channels[0]
    first, second = np.arange(0, 6000), np.arange(4000, 10_000)
    tallies = at_once(
        storing(batch(channel, uploads[0], first, first / 1000)),
        storing(batch(channel, uploads[1], second, second / 1000)),
    )
    assert sum(tally.stored for tally in tallies) == 10_000
    assert sum(tally.held for tally in tallies) == 2000
    assert not any(tally.clashes for tally in tallies)
    found = rows(channel.pk, *EVER)
    assert found["stamp"].tolist() == list(range(10_000))
    assert np.array_equal(found["raw"], np.arange(10_000) / 1000)
    counts = {upload.pk: int(np.count_nonzero(found["upload_id"] == upload.pk)) for upload in uploads}
    assert [tally.stored for tally in tallies] == [counts[upload.pk] for upload in uploads], "each counts its own"


@pytest.mark.usefixtures("_both_look_first")
def test_of_two_values_one_is_held_and_the_other_is_shown(channels: list[Channel], uploads: list[Upload]) -> None:
    stamps = np.arange(10)
    tallies = at_once(
        storing(batch(channels[0], uploads[0], stamps, np.full(10, 0.1))),
        storing(batch(channels[0], uploads[1], stamps, np.full(10, 0.2))),
    )
    winner, loser = sorted(tallies, key=lambda tally: -tally.stored)
    assert (winner.stored, len(winner.clashes)) == (10, 0)
    assert (loser.stored, loser.held, len(loser.clashes)) == (0, 0, 10)
    kept = set(rows(channels[0].pk, *EVER)["raw"].tolist())
    assert kept == {loser.clashes[0].held}
    assert kept != {loser.clashes[0].new}


@pytest.mark.usefixtures("_both_look_first")
@pytest.mark.parametrize("what", ["rows", "channels"])
def test_another_order_in_the_file_does_not_lock_them_up(
    channels: list[Channel], uploads: list[Upload], what: str
) -> None:
    """One file has its latest reading first, or its columns in another order: if each then waited for a row that the
    other has just written, the database would end one of them."""
    up = np.arange(20_000)
    down = up[::-1].copy() if what == "rows" else up
    mine = [batch(channel, uploads[0], up, up / 1000) for channel in channels]
    theirs = [batch(channel, uploads[1], down, down / 1000) for channel in channels]
    tallies = at_once(storing(*mine), storing(*(theirs[::-1] if what == "channels" else theirs)))
    assert sorted((tally.stored, tally.held) for tally in tallies) == [(0, 40_000), (40_000, 0)]
    for channel in channels:
        assert rows(channel.pk, *EVER)["stamp"].tolist() == up.tolist()
