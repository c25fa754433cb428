"""A log that waits for a decision when a report is signed is named in it."""

from __future__ import annotations

import pytest
from django.urls import reverse

from campaigns.models import User
from readings.models import Upload
from reports.content.changes import changes
from reports.services.freeze import freeze
from reports.services.release import prepare, sign_and_release
from tests.reports.measured import House, house
from tests.reports.pages import Browse, text_of
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


def test_it_is_said_before_signing_and_printed(
    measured: House, consultant: User, client_person: User, browse: Browse
) -> None:
    before = freeze(measured.campaign)
    assert before.undecided_logs == ()
    for name, state in (("riddle.csv", Upload.State.ATTENTION), ("gone.csv", Upload.State.WITHDRAWN)):
        sha = name.encode().hex()[:10].ljust(64, "0")
        Upload.objects.create(campaign=measured.campaign, filename=name, size=1, sha256=sha, state=state)
    after = freeze(measured.campaign)
    assert after.undecided_logs == ("riddle.csv",)
    assert "The logs that wait for a decision changed." in changes(before, after)
    (item,) = [item for item in prepare(measured.campaign).advisory if "wait for a decision" in item.words]
    assert item.names == ("riddle.csv",)
    report = sign_and_release(measured.campaign, consultant)
    shown = text_of(browse(client_person).get(reverse("released-report", args=[report.key])))
    assert "waited for a decision" in shown
    assert "riddle.csv" in shown
