"""Runs each benchmark in a process and a database of its own, on SQLite and, where it answers, on PostgreSQL."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile

POSTGRES = "postgres://postgres@127.0.0.1:5432/postgres"
BENCHMARKS = ("tests.bench.ingest",)


def postgres_answers() -> bool:
    import psycopg

    try:
        psycopg.connect(POSTGRES, connect_timeout=2).close()
    except psycopg.OperationalError:
        return False
    return True


def run(module: str, database: str) -> int:
    with tempfile.TemporaryDirectory(prefix="fanlight-bench-") as var:
        env = {**os.environ, "FANLIGHT_VAR": var, "FANLIGHT_LOG_LEVEL": "WARNING", "DATABASE_URL": database}
        return subprocess.run([sys.executable, "-m", module], env=env, check=False).returncode


def main() -> int:
    wanted = sys.argv[1:] or list(BENCHMARKS)
    databases = [""] + ([os.environ.get("BENCH_DATABASE_URL", POSTGRES)] if postgres_answers() else [])
    if len(databases) == 1:
        print("PostgreSQL does not answer on 127.0.0.1: its ratios are not measured.")
    return max(run(module, database) for module in wanted for database in databases)


if __name__ == "__main__":
    sys.exit(main())
