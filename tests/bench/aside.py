"""A log of 500,000 readings set aside and taken back, with the guards of the database and without them.

The other side is what the same code took before there were any. Both are done ``TIMES`` times in turn, and the least of
each counts.
"""

from __future__ import annotations

from tests.bench.stage import Score, Spent, database, least, ratio, show, spent

TIMES, READINGS, CHUNK = 3, 500_000, 50_000


def a_channel() -> int:
    """With so many readings of one file, a second apart, stored as they come from it."""
    import numpy as np
    from django.db import transaction

    from readings.models import Upload
    from readings.store import Batch, write
    from tests import factories as make

    deployment = make.DeploymentFactory.create()
    channel = deployment.instrument.channels.get()
    upload = Upload.objects.create(
        campaign=deployment.campaign, instrument=deployment.instrument, filename="log.csv", size=1, sha256="0" * 64
    )
    values = np.random.default_rng(1).integers(0, 500, READINGS) / 1000
    for first in range(0, READINGS, CHUNK):
        line = np.arange(first, first + CHUNK)
        zero = np.zeros(CHUNK, dtype=np.int64)
        with transaction.atomic():
            write([Batch(channel.pk, upload.pk, line * 1000, zero, values[first : first + CHUNK], zero, line)])
    return int(channel.pk)


def there_and_back(channel_id: int) -> tuple[Spent, Spent]:
    from campaigns.models import Channel
    from readings.services.stretches_aside import set_aside, take_back
    from tests import factories as make

    channel, by = Channel.objects.get(pk=channel_id), make.UserFactory.create()
    away, (decided,) = spent(lambda: set_aside([channel], 0, READINGS * 1000, "the inlet was covered", by))
    assert decided.count == READINGS
    back, _ = spent(lambda: take_back(decided, by))
    return away, back


def rows(vendor: str) -> list[Score]:
    from django.db import connection

    from campaigns import guards

    channel = a_channel()
    ours, bare = [], []
    for _ in range(TIMES):
        ours.append(there_and_back(channel))
        guards.lift(connection)
        bare.append(there_and_back(channel))
        guards.install(connection)
    assert guards.missing(connection) == []
    return [
        ratio(f"{what} 500,000 readings / without guards", vendor, least([pair[k] for pair in ours]),
              least([pair[k] for pair in bare]), "<= 1.5", 1.5)
        for k, what in enumerate(("set aside", "take back"))
    ]  # fmt: skip


def main() -> None:
    with database() as vendor:
        show(rows(vendor))


if __name__ == "__main__":
    main()
