from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from campaigns.models import Channel
from readings.models import Reading, Upload
from readings.queries import rows
from readings.store import Batch, StampCounts, write
from tests import factories as make

EVER = (-(2**62), 2**62)


@pytest.fixture
def channel(db: None) -> Channel:
    return make.InstrumentFactory().channels.get()


@pytest.fixture
def upload(channel: Channel) -> Upload:
    return an_upload(channel, "a" * 64)


def an_upload(channel: Channel, sha: str) -> Upload:
    campaign = make.CampaignFactory(site__organisation=channel.instrument.organisation)
    return Upload.objects.create(campaign=campaign, filename="log.txt", size=1, sha256=sha)


def batch(channel: Channel, upload: Upload, stamps: list[int], raw: list[float], start: int = 1) -> Batch:
    stamp = np.array(stamps, dtype=np.int64)
    n = len(stamp)
    return Batch(
        channel.pk, upload.pk, stamp, StampCounts().number(stamp), np.array(raw, dtype=np.float64),
        np.zeros(n, dtype=np.int64), np.arange(start, start + n, dtype=np.int64),
    )  # fmt: skip


def test_what_is_written_is_read_back(channel: Channel, upload: Upload) -> None:
    tally = write([batch(channel, upload, [1000, 2000, 2000], [0.1, -0.25, np.nan])])
    assert (tally.stored, tally.held, tally.clashes) == (3, 0, [])
    found = rows(channel.pk, *EVER)
    assert found["stamp"].tolist() == [1000, 2000, 2000]
    assert found["nth"].tolist() == [0, 0, 1]
    assert found["raw"].tolist()[:2] == [0.1, -0.25]
    assert np.isnan(found["raw"][2])
    assert Reading.objects.get(pk=(channel.pk, 2000, 1)).raw is None


def test_the_same_memory_again_is_held(channel: Channel, upload: Upload) -> None:
    write([batch(channel, upload, [1, 2, 3], [0.1, 0.2, np.nan])])
    second = an_upload(channel, "b" * 64)
    tally = write([batch(channel, second, [2, 3, 4], [0.2, np.nan, 0.4])])
    assert (tally.stored, tally.held, tally.clashes) == (1, 2, [])
    assert rows(channel.pk, *EVER)["upload_id"].tolist() == [upload.pk] * 3 + [second.pk]


def test_a_held_value_is_never_overwritten(channel: Channel, upload: Upload) -> None:
    write([batch(channel, upload, [1, 2], [0.1, 0.2])])
    tally = write([batch(channel, an_upload(channel, "b" * 64), [2], [0.9], start=40)])
    (clash,) = tally.clashes
    assert (clash.stamp, clash.line, clash.held, clash.held_line, clash.new) == (2, 40, 0.2, 2, 0.9)
    assert (clash.held_flag, clash.new_flag) == (0, 0)
    assert rows(channel.pk, *EVER)["raw"].tolist() == [0.1, 0.2]


def test_a_run_that_was_cut_short_counts_its_rows_as_its_own(channel: Channel, upload: Upload) -> None:
    whole = batch(channel, upload, [1, 2, 3, 4], [1.0, 2.0, 3.0, 4.0])
    write([whole.only(np.array([True, True, False, False]))])
    tally = write([whole])
    assert (tally.stored, tally.held) == (4, 0)


def test_another_channel_is_another_key(channel: Channel, upload: Upload) -> None:
    other = make.InstrumentFactory(organisation=channel.instrument.organisation).channels.get()
    tally = write([batch(channel, upload, [1], [0.1]), batch(other, upload, [1], [0.9])])
    assert tally.stored == 2
    assert rows(other.pk, *EVER)["raw"].tolist() == [0.9]


def test_rows_are_found_by_stamp_inclusive(channel: Channel, upload: Upload) -> None:
    write([batch(channel, upload, [10, 20, 30], [1.0, 2.0, 3.0])])
    assert rows(channel.pk, 10, 20)["raw"].tolist() == [1.0, 2.0]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(stamps=st.lists(st.integers(0, 12), max_size=60), cut=st.integers(1, 20))
def test_nth_does_not_depend_on_chunks(stamps: list[int], cut: int) -> None:
    seen: dict[int, int] = {}
    expected = []
    for stamp in stamps:
        expected.append(seen.get(stamp, 0))
        seen[stamp] = seen.get(stamp, 0) + 1
    repeats = StampCounts()
    array = np.array(stamps, dtype=np.int64)
    got = [int(n) for i in range(0, len(array), cut) for n in repeats.number(array[i : i + cut])]
    assert got == expected
