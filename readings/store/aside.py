"""Readings that do not count any more, moved beside those that do, and back: each as it was stored, in every value.

The table of readings holds what counts and nothing else, so that no query pays for what was set aside, and a key is
free for another reading of the same file. A reading leaves its place only when it stands, as it is, in the other one:
the database refuses all else (``readings.guards``). On PostgreSQL a move is one statement, so that nothing can come
between; on SQLite there is one writer at a time, and what is deleted is written first.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from django.db import connection
from django.db.models import F

from readings.models import AsideReading, Envelope, SettingAside
from readings.queries.aside_stretches import AsideStretch
from readings.queries.rows import TABLE
from readings.store.batches import Batch
from readings.store.envelopes import made_anew

ASIDE = "readings_asidereading"
COLUMNS = "channel_id, stamp, nth, raw, flag, upload_id, line"
#: Of a channel, of one upload or of every one (None), from a stamp to another.
LIVE = "channel_id = %s AND stamp BETWEEN %s AND %s AND upload_id = coalesce(%s, upload_id)"
Moved = dict[tuple[int, int], tuple[int, int, int]]  # (channel, upload) → first stamp, last stamp, readings
TOLD = "SELECT channel_id, upload_id, min(stamp), max(stamp), count(*) FROM {} GROUP BY channel_id, upload_id"
#: Readings that SQLite moves at a time, and a stamp that none has.
PART, LAST = 20_000, 2**63 - 1
SHARED = "SELECT id FROM campaigns_channel WHERE id = ANY(%s) ORDER BY id FOR SHARE"


def share_channels(channel_ids: Collection[int]) -> None:
    """Hold the channels together with others who store, while nobody sets readings of them aside."""
    if channel_ids and connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(SHARED, (list(channel_ids),))


def keep_aside(new: Batch, stretches: Sequence[AsideStretch]) -> Batch:
    """Set what is new of a stretch aside with it. What counts is returned."""
    for stretch in stretches:
        inside = (new.stamp >= stretch.first) & (new.stamp <= stretch.last)
        if inside.any():
            _insert(stretch.pk, new.only(inside))
            new = new.only(~inside)
    return new


def _insert(setting_aside_id: int, batch: Batch) -> None:
    raw = [None if x != x else x for x in batch.raw.tolist()]
    columns = (batch.stamp.tolist(), batch.nth.tolist(), raw, batch.flag.tolist(), batch.line.tolist())
    AsideReading.objects.bulk_create(
        AsideReading(
            setting_aside_id=setting_aside_id, channel_id=batch.channel_id, upload_id=batch.upload_id, stamp=stamp,
            nth=nth, raw=value, flag=flag, line=line,
        )
        for stamp, nth, value, flag, line in zip(*columns, strict=True)
    )  # fmt: skip
    SettingAside.objects.filter(pk=setting_aside_id).update(count=F("count") + len(batch))


def move_stretch(aside: SettingAside) -> Moved:
    """Everything that counts of the stretch. In the caller's transaction, which holds the channel."""
    assert aside.channel_id is not None
    assert aside.first_stamp_ms is not None
    assert aside.last_stamp_ms is not None
    moved = _away(aside.pk, aside.channel_id, aside.first_stamp_ms, aside.last_stamp_ms, None)
    _follow(moved)
    return moved


def move_chunk(aside: SettingAside, chunk: Envelope) -> int:
    """What counts of a withdrawn upload under one of its envelopes, and the envelope. How many readings were moved."""
    moved = _away(aside.pk, chunk.channel_id, chunk.first_stamp, chunk.last_stamp, chunk.upload_id)
    Envelope.objects.filter(pk=chunk.pk).delete()
    return sum(count for _, _, count in moved.values())


def take_along(aside: SettingAside, stretches: Collection[int]) -> int:
    """What ``stretches`` hold of a withdrawn upload goes with the upload. How many readings did."""
    if not stretches:
        return 0
    marks = ", ".join(["%s"] * len(stretches))
    before = AsideReading.objects.filter(setting_aside__in=stretches, upload=aside.upload_id)
    for pk in stretches:
        SettingAside.objects.filter(pk=pk).update(count=F("count") - before.filter(setting_aside=pk).count())
    which = f"upload_id = %s AND setting_aside_id IN ({marks})"
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {ASIDE} (setting_aside_id, {COLUMNS}) SELECT %s, {COLUMNS} FROM {ASIDE} WHERE {which}",  # noqa: S608
            (aside.pk, aside.upload_id, *stretches),
        )
        cursor.execute(f"DELETE FROM {ASIDE} WHERE {which}", (aside.upload_id, *stretches))  # noqa: S608
        return int(cursor.rowcount)


def move_back(aside: SettingAside) -> Moved:
    """All readings of a stretch, which nothing has taken the place of. In the caller's transaction, which holds the
    channel."""
    which = "setting_aside_id = %s AND channel_id = %s"
    moved = _moved(ASIDE, TABLE, COLUMNS, COLUMNS, which, (), (aside.pk, aside.channel_id))
    _follow(moved)
    return moved


def _away(aside_id: int, channel_id: int, low: int, high: int, upload_id: int | None) -> Moved:
    into, values = f"setting_aside_id, {COLUMNS}", f"%s, {COLUMNS}"
    return _moved(TABLE, ASIDE, into, values, LIVE, (aside_id,), (channel_id, low, high, upload_id))


def _follow(moved: Moved) -> None:
    for (channel_id, upload_id), (low, high, _) in sorted(moved.items()):
        made_anew(channel_id, upload_id, low, high)


def _moved(
    here: str, there: str, into: str, values: str, which: str, given: tuple[int, ...], asked: tuple[int | None, ...]
) -> Moved:
    """``given``: for ``values``; ``asked``: for ``which``."""
    if connection.vendor != "postgresql":
        return _moved_in_parts(here, f"INSERT INTO {there} ({into}) SELECT {values}", which, given, asked)
    with connection.cursor() as cursor:
        cursor.execute(
            f"WITH gone AS (DELETE FROM {here} WHERE {which} RETURNING {COLUMNS}), "  # noqa: S608
            f"kept AS (INSERT INTO {there} ({into}) SELECT {values} FROM gone) {TOLD.format('gone')}",
            (*asked, *given),
        )
        return _with(Moved(), cursor.fetchall())


def _moved_in_parts(here: str, insert: str, which: str, given: tuple[int, ...], asked: tuple[int | None, ...]) -> Moved:
    """Few enough at a time that what was written is still in the cache of SQLite when it is looked at."""
    moved: Moved = Moved()
    part = f"{which} AND stamp <= %s"
    with connection.cursor() as cursor:
        while True:
            cursor.execute(f"SELECT stamp FROM {here} WHERE {which} ORDER BY stamp LIMIT 1 OFFSET {PART}", asked)  # noqa: S608
            found = cursor.fetchone()
            now = (*asked, found[0] if found else LAST)
            cursor.execute(TOLD.format(f"{here} WHERE {part}"), now)
            _with(moved, cursor.fetchall())
            cursor.execute(f"{insert} FROM {here} WHERE {part}", (*given, *now))
            cursor.execute(f"DELETE FROM {here} WHERE {part}", now)  # noqa: S608
            if found is None:
                return moved


def _with(moved: Moved, told: list[tuple[int, ...]]) -> Moved:
    for channel, upload, low, high, count in told:
        before = moved.get((channel, upload), (low, high, 0))
        moved[channel, upload] = min(low, before[0]), max(high, before[1]), count + before[2]
    return moved
