"""File to stored readings, against the database's own bulk load of the same rows, and against the usual way.

500,000 lines × 3 channels: our pipeline (understand, read, number, compare, store, job heartbeats) on one side; on the
other a bare binary COPY (PostgreSQL) or executemany (SQLite) of the same, already encoded rows into an empty table of
the same definition, and pandas.read_csv + DataFrame.to_sql. Then the memory of a file ten times longer.
"""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np

from tests.bench.stage import database, peak_mib, report, timed

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
        make.ChannelSpecFactory(instrument_type=instrument.type, parameter=parameter, unit=unit)
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


def ingest(path: Path) -> Any:
    from readings.services.reading import read_upload

    upload, job = an_upload(path)
    seconds, outcome = timed(lambda: read_upload(job))
    assert outcome[0] == "done", outcome
    return seconds, upload


def stored_batches(upload: Any) -> list[Any]:
    """The rows that were stored, as arrays again."""
    from readings.queries import rows
    from readings.store import Batch

    batches = []
    for channel in upload.instrument.channels.all():
        r = rows(channel.pk, -(2**62), 2**62)
        batches.append(Batch(channel.pk, upload.pk, r["stamp"], r["nth"], r["raw"], r["flag"], r["line"]))
    return batches


def bare_copy(upload: Any) -> float:
    from django.db import connection

    from readings.store import postgres

    encoded = [postgres.encode(batch) for batch in stored_batches(upload)]
    with connection.cursor() as cursor:
        cursor.execute("TRUNCATE readings_reading")
        cursor.execute("CHECKPOINT")

    def copy() -> None:
        with connection.cursor() as cursor, cursor.copy(postgres.COPY) as into:
            into.write(postgres.HEADER)
            for data in encoded:
                into.write(data)
            into.write(postgres.TRAILER)

    return timed(copy)[0]


def bare_executemany(upload: Any) -> float:
    from django.db import connection, transaction

    from readings.store import sqlite

    prepared = [list(sqlite._rows(batch)) for batch in stored_batches(upload)]
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM readings_reading")

    def insert() -> None:
        with transaction.atomic(), connection.cursor() as cursor:
            for data in prepared:
                cursor.executemany(sqlite.INSERT, data)

    return timed(insert)[0]


def usual_way(path: Path) -> float:
    """What a script would do: read_csv, melt, to_sql."""
    import pandas as pd
    from django.db import connection

    def load() -> None:
        frame = pd.read_csv(path, parse_dates=["time"])
        long = frame.melt("time", var_name="channel", value_name="raw")
        if connection.vendor == "sqlite":
            with sqlite3.connect(connection.settings_dict["NAME"]) as plain:  # in one transaction, as pandas means it
                long.to_sql("usual_way", plain, index=False, if_exists="replace")
        else:
            import sqlalchemy

            db = connection.settings_dict
            url = f"postgresql+psycopg://{db['USER']}@{db['HOST'] or '127.0.0.1'}/{db['NAME']}"
            long.to_sql("usual_way", sqlalchemy.create_engine(url), index=False, if_exists="replace")

    return timed(load)[0]


def memory_of(lines: int) -> float:
    """Peak of a process that does nothing but read a log of ``lines`` lines."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.ingest", "--memory", str(lines)], capture_output=True, text=True, check=True
    )
    return float(done.stdout.split()[-1])


def main() -> None:
    import os

    folder = Path(os.environ["FANLIGHT_VAR"])
    if "--memory" in sys.argv:
        lines = int(sys.argv[-1])
        path = folder / f"{lines}.csv"
        if not path.exists():
            write_log(path, lines)
        with database():
            ingest(path)
            print(peak_mib())
        return
    path = folder / "log.csv"
    write_log(path, LINES)
    with database() as vendor:
        ours, upload = ingest(path)
        print(f"\ningest on {vendor}: {LINES:,} lines x {len(CHANNELS)} channels, {path.stat().st_size / 1e6:.0f} MB")
        if vendor == "postgresql":
            report("file to stored readings", ours, bare_copy(upload), "bare binary COPY", "<= 1.5")
        else:
            report("file to stored readings", ours, bare_executemany(upload), "bare executemany", "<= 2")
        other = usual_way(path)
        report("the usual way (read_csv, melt, to_sql)", other, ours, "ours", ">= 10")
    short, long = memory_of(LINES), memory_of(10 * LINES)
    print(f"peak memory: {short:.0f} MiB, for a file ten times longer {long:.0f} MiB (goal <= 300 MiB, flat)")


if __name__ == "__main__":
    main()
