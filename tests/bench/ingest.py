"""File to stored readings, against the database's own bulk load of the same rows, and against the usual way.

500,000 lines × 3 channels: our pipeline (understand, read, number, compare, store, job heartbeats) on one side; on the
other a bare binary COPY (PostgreSQL) or executemany (SQLite) of the same, already encoded rows into the same, emptied
table. Both are done ``TIMES`` times in turn, and the least of each counts.

The usual way is what a script does: read_csv with the stamps parsed, melted to one row a reading, and to_sql as it
comes, without a method or a chunk size. It is measured with the first fifth of the file and taken five times: it goes
row by row, so it is linear, and it is slow. The goal is for PostgreSQL, the database of record: on SQLite both sides
end in the same executemany, and the number is information. Last, the memory of a file ten times longer.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from tests.bench.stage import Score, Spent, database, least, peak_mib, ratio, show, spent

TIMES, PART = 3, 5
LINES, CHANNELS = 500_000, ("formaldehyde [ppm]", "CO2 [ppm]", "temperature [°C]")


def write_log(path: Path, lines: int) -> None:
    """One reading a second, three channels."""
    seconds = np.datetime64("2026-01-05T00:00:00") + np.arange(lines).astype("timedelta64[s]")
    random = np.random.default_rng(1)
    with path.open("w", encoding="utf-8") as file:
        file.write("time," + ",".join(CHANNELS) + "\n")
        for start in range(0, lines, 100_000):
            stamps = np.datetime_as_string(seconds[start : start + 100_000])
            n = len(stamps)
            columns = (
                random.integers(0, 500, n) / 1000,
                random.integers(400, 2000, n),
                random.integers(150, 300, n) / 10,
            )
            for row in zip(stamps, *columns, strict=True):
                file.write(f"{row[0].replace('T', ' ')},{row[1]:.3f},{row[2]},{row[3]:.1f}\n")


def an_upload(path: Path) -> Any:
    from campaigns.models import Job
    from readings.models import Upload
    from tests import factories as make

    instrument = make.InstrumentFactory()
    for parameter, unit in (("co2", "ppm"), ("temperature", "°C")):
        make.ChannelSpecFactory(instrument_type=instrument.type, parameter=parameter, unit=unit, range_high=5000)
    campaign = make.CampaignFactory(site__organisation=instrument.organisation)
    upload = Upload(campaign=campaign, instrument=instrument, filename=path.name, size=path.stat().st_size)
    upload.sha256 = f"{path.stat().st_size:064d}"
    with path.open("rb") as file:
        from django.core.files import File

        upload.original.save(path.name, File(file), save=True)
    job = Job.objects.create(kind="read-upload", subject_id=upload.pk, organisation=instrument.organisation)
    taken = Job.take(job.pk)
    assert taken is not None
    return upload, taken


def emptied() -> None:
    from django.db import connection

    from campaigns import guards

    guards.lift(connection, tables=["readings_reading"])
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("TRUNCATE readings_reading")
            cursor.execute("CHECKPOINT")
        else:
            cursor.execute("DELETE FROM readings_reading")
    guards.install(connection)


def ingest(path: Path) -> tuple[Spent, Any]:
    from readings.services.reading import read_upload

    upload, job = an_upload(path)
    time, outcome = spent(lambda: read_upload(job))
    assert outcome[0] == "done", outcome
    return time, upload


def stored_batches(upload: Any) -> list[Any]:
    """The rows that were stored, as arrays again."""
    from readings.queries import rows
    from readings.store import Batch

    batches = []
    for channel in upload.instrument.channels.all():
        r = rows(channel.pk, -(2**62), 2**62)
        batches.append(Batch(channel.pk, upload.pk, r["stamp"], r["nth"], r["raw"], r["flag"], r["line"]))
    assert sum(map(len, batches)) == LINES * len(CHANNELS)
    return batches


def bare_copy(upload: Any) -> Spent:
    from django.db import connection

    from readings.store import postgres

    encoded = [postgres.encode(batch) for batch in stored_batches(upload)]
    emptied()

    def copy() -> None:
        with connection.cursor() as cursor, cursor.copy(postgres.COPY) as into:
            into.write(postgres.HEADER)
            for data in encoded:
                into.write(data)
            into.write(postgres.TRAILER)

    return spent(copy)[0]


def bare_executemany(upload: Any) -> Spent:
    from django.db import connection, transaction

    from readings.store import sqlite

    prepared = [list(sqlite._rows(batch)) for batch in stored_batches(upload)]
    emptied()

    def insert() -> None:
        with transaction.atomic(), connection.cursor() as cursor:
            for data in prepared:
                sqlite3.Cursor.executemany(cursor.cursor, sqlite.INSERT, data)

    return spent(insert)[0]


def usual_way(path: Path) -> Spent:
    """Of the whole file, from a part of it. On PostgreSQL the processor time is without that of its backend."""
    import pandas as pd
    from django.db import connection

    def load() -> None:
        frame = pd.read_csv(path, parse_dates=["time"], nrows=LINES // PART)
        long = frame.melt("time", var_name="channel", value_name="raw")
        if connection.vendor == "sqlite":
            with sqlite3.connect(connection.settings_dict["NAME"]) as plain:  # in one transaction, as pandas means it
                long.to_sql("usual_way", plain, index=False, if_exists="replace")
        else:
            import sqlalchemy

            db = connection.settings_dict
            url = f"postgresql+psycopg://{db['USER']}@{db['HOST'] or '127.0.0.1'}/{db['NAME']}"
            engine = sqlalchemy.create_engine(url)
            long.to_sql("usual_way", engine, index=False, if_exists="replace")
            engine.dispose()

    part = spent(load)[0]
    return Spent(PART * part.wall, PART * part.cpu)


def memory_of(lines: int) -> float:
    """Peak of a process that does nothing but read a log of ``lines`` lines, in a folder of its own: what is left of
    the journal of an SQLite file that is gone would stop the next one of the same name."""
    command = [sys.executable, "-m", "tests.bench.ingest", "--memory", str(lines)]
    with tempfile.TemporaryDirectory(prefix="fanlight-bench-") as var:
        env = {**os.environ, "FANLIGHT_VAR": var}
        done = subprocess.run(command, env=env, stdout=subprocess.PIPE, text=True, check=True)
    return float(done.stdout.split()[-1])


def rows_of(path: Path, vendor: str) -> list[Score]:
    bare, against, most = (
        (bare_copy, "bare binary COPY", 1.5) if vendor == "postgresql" else (bare_executemany, "bare executemany", 2.0)
    )
    ours, theirs = [], []
    for _ in range(TIMES):
        emptied()
        time, upload = ingest(path)
        ours.append(time)
        theirs.append(bare(upload))
    usual = usual_way(path)
    mine = least(ours)
    faster = usual.wall / mine.wall
    usually = f"{usual.wall:.1f} / {mine.wall:.2f} s = {faster:.1f}"
    goal = (">= 10", faster >= 10) if vendor == "postgresql" else ("", None)
    return [
        ratio(f"ingest 500,000 x 3 / {against}", vendor, mine, least(theirs), f"<= {most:g}", most),
        Score("ingest, times faster than read_csv + to_sql", vendor, usually, *goal),
    ]


def memory(vendor: str) -> list[Score]:
    """While no other process has the database: each makes its own of the same name."""
    short, long = memory_of(LINES), memory_of(10 * LINES)
    grown = long / short
    return [
        Score("ingest, peak memory", vendor, f"{short:.0f} MiB", "<= 300 MiB", short <= 300),
        Score("ingest, peak memory, ten times longer", vendor, f"{long:.0f} MiB = {grown:.2f}", "<= 1.1", grown <= 1.1),
    ]  # fmt: skip


def main() -> None:
    folder = Path(os.environ["FANLIGHT_VAR"])
    if "--memory" in sys.argv:
        lines = int(sys.argv[-1])
        path = folder / f"{lines}.csv"
        write_log(path, lines)
        with database():
            ingest(path)
            print(peak_mib())
        return
    path = folder / "log.csv"
    write_log(path, LINES)
    with database() as vendor:
        show(rows_of(path, vendor))
    show(memory(vendor))


if __name__ == "__main__":
    main()
