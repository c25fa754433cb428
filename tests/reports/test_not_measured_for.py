"""A zone measured for one parameter and never for another is named as not measured for that one."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.urls import reverse

from campaigns import models as m
from reports.pdf import render
from reports.services.freeze import freeze
from reports.services.release import sign_and_release
from tests.reports.measured import House, house, judge
from tests.reports.pages import Browse, text_of
from tests.reports.signing import signed_content
from tests.reports.test_pdf import text_of as text_in_pdf
from tests.worlds import World

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("world_of_file")]


def build(world: World) -> House:
    """Formaldehyde was measured, the carbon dioxide that is also asked for was not."""
    found = house(world.site)
    limit = m.Limit.objects.filter(parameter="co2").first()
    assert limit is not None
    m.Criterion.objects.create(campaign=found.campaign, limit=limit, position=9)
    judge(found.campaign)
    return found


@pytest.fixture
def partly(own_world: World) -> House:
    built: House = own_world.built
    return built


def test_the_pdf_names_the_parameter_for_each_zone(partly: House, tmp_path: Path) -> None:
    content = signed_content(freeze(partly.campaign))
    text = " ".join(text_in_pdf(render(content), tmp_path).split())
    said = text.split("What was not measured")[1].split("Outdoor air")[0]
    for zone in (partly.high, partly.low):
        assert f"{zone.name} (" in said
    assert said.count("not measured for carbon dioxide, so nothing is concluded about it there.") == 2
    assert "formaldehyde" not in said


def test_the_page_names_it_against_the_limit_that_is_shown(partly: House, consultant: m.User, browse: Browse) -> None:
    report = sign_and_release(partly.campaign, consultant)
    url = reverse("released-report", args=[report.key])
    words = "not measured for carbon dioxide, so nothing is concluded about that"
    assert words not in text_of(browse(consultant).get(url))
    assert text_of(browse(consultant).get(f"{url}?limit=C2")).count(words) == 2
