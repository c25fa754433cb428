"""A throwaway database for one benchmark, made with the real migrations and removed afterwards."""

from __future__ import annotations

import json
import os
import resource
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TypeVar

T = TypeVar("T")


@contextmanager
def database() -> Iterator[str]:
    """Yields the vendor; inside, Django's default connection is an empty, migrated test database."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    import django
    from django.test.utils import get_runner, setup_test_environment, teardown_test_environment

    django.setup()
    from django.conf import settings
    from django.db import connection

    settings.MEDIA_ROOT = os.environ["FANLIGHT_VAR"] + "/media"
    setup_test_environment()
    runner = get_runner(settings)(verbosity=0, interactive=False)
    old = runner.setup_databases()
    try:
        yield connection.vendor
    finally:
        runner.teardown_databases(old)
        teardown_test_environment()


@dataclass(frozen=True)
class Spent:
    """Seconds on the clock, and of the processors: this process and, where it is on this machine, its backend."""

    wall: float
    cpu: float


def spent(work: Callable[[], T]) -> tuple[Spent, T]:
    backend = _backend()
    wall, cpu, there = time.perf_counter(), _own_cpu(), _cpu_of(backend)
    result = work()
    cpu = _own_cpu() - cpu + _cpu_of(backend) - there
    return Spent(time.perf_counter() - wall, cpu), result


def _own_cpu() -> float:
    """Of this process and those it waited for; their backends are gone by then and not in it."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime


def least(several: list[Spent]) -> Spent:
    """The least of each: what others on the machine took is not in it, as far as that is possible."""
    return Spent(min(one.wall for one in several), min(one.cpu for one in several))


def _backend() -> int | None:
    """The process that serves the connection, if it is one, and here."""
    from django.db import connection

    if connection.vendor != "postgresql":
        return None
    connection.ensure_connection()
    pid: int = connection.connection.info.backend_pid
    return pid if Path(f"/proc/{pid}/stat").exists() else None


def _cpu_of(pid: int | None) -> float:
    if pid is None:
        return 0.0
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def peak_mib() -> float:
    """Highest resident size of this process so far.

    From /proc where there is one: the rusage of a child starts with what its parent once needed.
    """
    status = Path("/proc/self/status")
    if status.exists():
        line = next(text for text in status.read_text().splitlines() if text.startswith("VmHWM"))
        return int(line.split()[1]) / 1024
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 1024 if sys.platform != "darwin" else peak / 1024 / 1024


@dataclass(frozen=True)
class Score:
    """One line of the table: what was measured, on which database, the number, the goal, and whether it was met."""

    what: str
    vendor: str
    found: str
    goal: str
    met: bool | None = None


def ratio(what: str, vendor: str, ours: Spent, other: Spent, goal: str, most: float) -> Score:
    """Ours over the other side's, on the clock and in processor time; judged by the clock."""
    found = f"{ours.wall:.2f} / {other.wall:.2f} s = {ours.wall / other.wall:.2f} (CPU {ours.cpu / other.cpu:.2f})"
    return Score(what, vendor, found, goal, ours.wall <= most * other.wall)


def show(rows: list[Score]) -> None:
    """Prints the rows and, for the table at the end, adds them to the file that FANLIGHT_BENCH_ROWS names."""
    for row in rows:
        print(line(row), flush=True)
    kept = os.environ.get("FANLIGHT_BENCH_ROWS")
    if kept:
        with Path(kept).open("a", encoding="utf-8") as file:
            file.writelines(json.dumps(asdict(row)) + "\n" for row in rows)


def line(row: Score) -> str:
    said = {True: "met", False: "NOT MET", None: ""}[row.met]
    return f"{row.what:<52} {row.vendor:<11} {row.found:>36}   {row.goal:<12} {said}"
