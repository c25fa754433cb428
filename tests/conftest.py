"""What every test gets, with Django or without: marks, what must be there, and who runs what.

Nothing here imports Django, so that ``pytest tests/methods -p no:django`` runs the science alone. What tests of the
app share is in plugins that are loaded only where Django is: ``tests.database`` and ``tests.cast``.
"""

from __future__ import annotations

import gc
import os
from pathlib import Path

import pytest
from hypothesis import settings

from tests.examples import QUICK, register

TESTS = Path(__file__).parent
#: Tests of modules that know no database, and of the tree itself.
WITHOUT_DATABASE = ("methods", "architecture")


def pytest_addoption(parser: pytest.Parser, pluginmanager: pytest.PytestPluginManager) -> None:
    """Without pytest-django its setting is nobody's, which ``--strict-config`` would refuse."""
    if not pluginmanager.hasplugin("django"):
        parser.addini("DJANGO_SETTINGS_MODULE", "not used: pytest-django is left out")


def pytest_configure(config: pytest.Config) -> None:
    register()
    if not config.getoption("--hypothesis-profile", default=None):
        settings.load_profile(QUICK)
    there = {"django": ("tests.database", "tests.worlds", "tests.cast"), "xdist": ("tests.spread",)}
    for needed, plugins in there.items():
        for plugin in plugins if config.pluginmanager.hasplugin(needed) else ():
            config.pluginmanager.import_plugin(plugin)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Marks what says the same whatever the database, so that CI runs it once."""
    for item in items:
        asks = {"db", "transactional_db"} & set(getattr(item, "fixturenames", ()))
        if not asks and item.path.relative_to(TESTS).parts[0] in WITHOUT_DATABASE:
            item.add_marker("pure")


def pytest_collection_finish() -> None:
    """What is loaded by now stays, and most of what a test makes is gone by counting: to look for circles after every
    seven hundred objects took a fourteenth of the run."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(200_000, 20, 50)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish() -> None:
    """At its end pytest looks for circles five times, among all that was made: for eight seconds of each worker."""
    gc.freeze()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """What tests say of the tree besides passing (``record_property("says", …)``)."""
    reports = [report for outcome in ("passed", "failed") for report in terminalreporter.stats.get(outcome, ())]
    for line in sorted({str(line) for report in reports for key, line in report.user_properties if key == "says"}):
        terminalreporter.write_line(line)


# --- services: used whenever they are there, and CI says which must be (FANLIGHT_REQUIRE=postgresql,redis,browser) ---


def required(name: str) -> bool:
    return name in os.environ.get("FANLIGHT_REQUIRE", "").split(",")


def skip_unless(there: bool, name: str, why: str) -> None:
    if there:
        return
    if required(name):
        pytest.fail(f"FANLIGHT_REQUIRE names {name}, but {why}")
    pytest.skip(why)
