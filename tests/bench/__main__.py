"""Runs each benchmark in a process and a database of its own, on SQLite and, where it answers, on PostgreSQL.

Ends with one table. A goal that was missed is said there and is no error; only a benchmark that fails is.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.stage import Score, line

POSTGRES = "postgres://postgres@127.0.0.1:5432/postgres"
BENCHMARKS = (
    "tests.bench.first_look",
    "tests.bench.ingest",
    "tests.bench.campaign",
    "tests.bench.aside",
    "tests.bench.long_log",
)
#: The same on every database.
WITHOUT_DATABASE = ("tests.bench.first_look",)


def postgres_answers() -> bool:
    import psycopg

    try:
        psycopg.connect(POSTGRES, connect_timeout=2).close()
    except psycopg.OperationalError:
        return False
    return True


def run(module: str, database: str, rows: Path) -> int:
    with tempfile.TemporaryDirectory(prefix="fanlight-bench-") as var:
        env = {
            **os.environ, "FANLIGHT_VAR": var, "FANLIGHT_LOG_LEVEL": "ERROR", "DATABASE_URL": database,
            "FANLIGHT_BENCH_ROWS": str(rows),
        }  # fmt: skip
        return subprocess.run([sys.executable, "-m", module], env=env, check=False).returncode


def main() -> int:
    wanted = sys.argv[1:] or list(BENCHMARKS)
    databases = [""] + ([os.environ.get("BENCH_DATABASE_URL", POSTGRES)] if postgres_answers() else [])
    if len(databases) == 1:
        print("PostgreSQL does not answer on 127.0.0.1: its ratios are not measured.")
    with tempfile.TemporaryDirectory(prefix="fanlight-bench-") as folder:
        kept = Path(folder) / "rows"
        kept.touch()
        failed = max(
            run(module, database, kept)
            for module in wanted
            for database in (databases[:1] if module in WITHOUT_DATABASE else databases)
        )
        rows = [Score(**json.loads(text)) for text in kept.read_text(encoding="utf-8").splitlines()]
    print(f"\n{os.cpu_count()} processors, load {', '.join(f'{x:.1f}' for x in os.getloadavg())}\n")
    for row in rows:
        print(line(row))
    missed = sum(row.met is False for row in rows)
    print(f"\n{missed} of {sum(row.met is not None for row in rows)} goals missed.")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
