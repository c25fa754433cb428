"""Envelopes are written with the readings: both or neither, and once."""

from __future__ import annotations

import numpy as np
import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction

from methods.figures.block_summary import PART, parts_of
from readings.models import Envelope
from readings.queries import rows
from tests.readings.doing import EVER
from tests.readings.logs import Logger


@pytest.fixture
def logger(db: None) -> Logger:
    return Logger.new(0)


def parts() -> np.ndarray:
    found = Envelope.objects.order_by("first_stamp").values_list("parts", flat=True)
    return np.concatenate([np.frombuffer(bytes(one or b""), dtype=PART) for one in found])


def test_each_chunk_has_one(logger: Logger) -> None:
    upload = logger.hand_in(logger.stamps(0, 700, 10), chunk=300)
    found = Envelope.objects.order_by("first_stamp")
    assert [one.count for one in found] == [300, 300, 100]
    assert {(one.channel_id, one.upload_id) for one in found} == {(logger.channel.pk, upload.pk)}
    stored = rows(logger.channel.pk, *EVER)
    assert parts()["count"].sum() == len(stored) == 700
    assert parts()["high_raw"].max() == np.nanmax(stored["raw"])


def test_readings_that_are_held_are_in_none_again(logger: Logger) -> None:
    stamps = logger.stamps(0, 500, 10)
    logger.hand_in(stamps[:300])
    logger.hand_in(stamps)
    assert [one.count for one in Envelope.objects.order_by("first_stamp")] == [300, 200]
    logger.hand_in(stamps)
    assert Envelope.objects.count() == 2


def test_newest_first_is_kept_in_the_order_of_keys(logger: Logger) -> None:
    logger.hand_in(logger.stamps(0, 200, 10)[::-1])
    assert np.all(np.diff(parts()["first"]) > 0)
    assert set(parts()["order"].tolist()) == {-1}


def test_both_or_neither(logger: Logger, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> object:
        raise DatabaseError("the lights went out")

    monkeypatch.setattr("readings.store.envelopes.parts_of", broken)
    with pytest.raises(DatabaseError):
        logger.hand_in(logger.stamps(0, 50, 10))
    assert len(rows(logger.channel.pk, *EVER)) == Envelope.objects.count() == 0


@pytest.mark.parametrize("wrong", [{"count": 0}, {"last_stamp": 4}])
def test_what_cannot_be(logger: Logger, wrong: dict[str, int]) -> None:
    right = {"channel_id": 1, "upload_id": 1, "first_stamp": 5, "last_stamp": 6, "count": 2}
    with pytest.raises(IntegrityError), transaction.atomic():
        Envelope.objects.create(**{**right, **wrong})


def test_parts_of_a_chunk_are_those_of_its_rows(logger: Logger) -> None:
    logger.hand_in(logger.with_gaps(logger.stamps(0, 1000, 10), 9, 5))
    stored = rows(logger.channel.pk, *EVER)
    from readings.store import Batch

    batch = Batch(1, 1, *(stored[name].copy() for name in ("stamp", "nth", "raw", "flag", "line")))
    np.testing.assert_array_equal(parts(), parts_of(batch))


@pytest.mark.usefixtures("postgresql")
def test_parts_are_kept_as_they_are(logger: Logger) -> None:
    """PostgreSQL would press them together ("x" in pg_attribute.attstorage; "e": it does not)."""
    storage = "SELECT attstorage::text FROM pg_attribute WHERE attrelid = %s::regclass AND attname = %s"
    with connection.cursor() as cursor:
        cursor.execute(storage, ["readings_envelope", "parts"])
        assert cursor.fetchone() == ("e",)
