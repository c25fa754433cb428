"""A throwaway database for one benchmark, made with the real migrations and removed afterwards."""

from __future__ import annotations

import os
import resource
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
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


def timed(work: Callable[[], T]) -> tuple[float, T]:
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


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


def report(what: str, ours: float, other: float, against: str, goal: str) -> None:
    print(f"{what:<52} {ours:7.2f} s / {other:7.2f} s {against:<34} = {ours / other:5.2f} x   (goal {goal})")
