"""A campaign of 200 rooms, 400 deployments, 10 criteria and 2 M readings: judging it, the JSON of its
results, its pages, its readings as CSV.

Judging is held against reading the same rows out of the database: the same columns, channel by channel in the order of
the key, by a plain SELECT through the driver, as Python values (``fetchall``). Nothing is done with them.

CSV through the API (derived: placed, corrected, with names of flags) is held against the database's own text: on
PostgreSQL ``COPY (SELECT the stored columns) TO STDOUT (FORMAT CSV)``, in bytes a second; SQLite has no such thing.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

from tests.bench.pages import rows_of as pages_of
from tests.bench.stage import Score, Spent, database, least, ratio, show, spent
from tests.bench.traces import rows_of as traces_of

if TYPE_CHECKING:
    from tests.bench.house import BenchHouse

TIMES = 3
PLAIN = """
    SELECT channel_id, stamp, nth, raw, flag, upload_id, line FROM readings_reading
    WHERE channel_id = %s ORDER BY stamp, nth
"""
COPY = "COPY (SELECT channel_id, stamp, nth, raw, flag, upload_id, line FROM readings_reading) TO STDOUT (FORMAT CSV)"


def judged(house: BenchHouse) -> Spent:
    """From nothing: no result is there that could stand."""
    from reports.models import Finding, Result
    from tests.bench.house import judge

    Finding.objects.all().delete()
    Result.objects.all().delete()
    return spent(lambda: judge(house))[0]


def read_plainly(house: BenchHouse) -> Spent:
    from django.db import connection

    from campaigns.models import Channel

    channels = list(Channel.objects.filter(instrument__in=house.instruments).values_list("pk", flat=True))

    def read() -> int:
        count = 0
        with connection.cursor() as cursor:
            for pk in channels:
                cursor.execute(PLAIN, (pk,))
                count += len(cursor.fetchall())
        return count

    time, count = spent(read)
    assert count == house.size.readings
    return time


def judging(house: BenchHouse, vendor: str) -> list[Score]:
    ours, plain = [], []
    for _ in range(TIMES):
        ours.append(judged(house))
        plain.append(read_plainly(house))
    return [ratio("judge 2 M readings / reading them out", vendor, least(ours), least(plain), "<= 2", 2)]


def _rate(blocks: Any) -> float:
    """Bytes a second."""
    start, size = time.perf_counter(), 0
    for block in blocks:
        size += len(block)
    return size / (time.perf_counter() - start)


def export(house: BenchHouse, vendor: str) -> list[Score]:
    from django.db import connection
    from django.test import Client
    from django.urls import reverse

    from campaigns.models import TokenScope
    from tests.api.program import token_for

    _, secret = token_for(house.campaign.site.organisation, [TokenScope.READINGS])
    response: Any = Client().get(
        reverse("api-reading-list"), {"campaign": str(house.campaign.key), "format": "csv"},
        headers={"Authorization": f"Bearer {secret}"},
    )  # fmt: skip
    assert response.status_code == 200, response.content
    ours = _rate(response.streaming_content)
    if vendor != "postgresql":
        return [Score("readings as CSV through the API", vendor, f"{ours / 1e6:.1f} MB/s", "")]
    with connection.cursor() as cursor, cursor.cursor.copy(COPY) as copy:
        own = _rate(copy)
    found = f"{ours / 1e6:.1f} / {own / 1e6:.1f} MB/s = {ours / own:.0%}"
    return [Score("readings as CSV / the database's COPY TO", vendor, found, ">= 50 %", ours >= 0.5 * own)]


def main() -> None:
    with database() as vendor:
        from tests.bench.house import Size, build

        house = build(Size())
        show(judging(house, vendor))
        show(traces_of(vendor))
        show(pages_of(house, vendor))
        show(export(house, vendor))


if __name__ == "__main__":
    main()
