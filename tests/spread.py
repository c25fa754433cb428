"""Which test worker runs what, with pytest-xdist's ``--dist loadgroup``. Loaded only where pytest-xdist is."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from xdist.scheduler import LoadGroupScheduling


class FilesAndGroups(LoadGroupScheduling):  # type: ignore[misc] # it ships no types
    """A group to one worker, as ever; of the rest whole files, because what a file sets up it sets up once."""

    def _split_scope(self, nodeid: str) -> str:
        scope = super()._split_scope(nodeid)
        return nodeid.split("::", 1)[0] if scope == nodeid else str(scope)


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> FilesAndGroups | None:
    if config.getvalue("dist") != "loadgroup":
        return None
    config.option.loadscopereorder = False  # the order of the collection, as below
    return FilesAndGroups(config, log)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Long files first, or the last worker would end long after the others: the slow ones, then those of many tests."""
    if not hasattr(config, "workerinput"):
        return
    tests = Counter(item.path for item in items)
    slow = {item.path for item in items if item.get_closest_marker("slow")}
    items.sort(key=lambda item: (item.path not in slow, -tests[item.path], item.path))
