"""The fitness page of an instrument: its checks over time, its papers, what it can decide, and who sees it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from campaigns.models import Calibration, Campaign, Channel, FieldCheck, Instrument, Site, User
from campaigns.services import field_checks
from methods.figures.checks import CheckMark, check_course
from tests import factories as make
from tests.reports.pages import Browse
from tests.reports.pages import text_of as text

HOUR = timedelta(hours=1)


@pytest.fixture
def campaign(site: Site) -> Campaign:
    return make.CampaignFactory.create(site=site, name="Autumn round")


@pytest.fixture
def meter(site: Site) -> Instrument:
    return make.InstrumentFactory.create(organisation=site.organisation, name="meter F")


@pytest.fixture
def channel(meter: Instrument) -> Channel:
    return meter.channels.get()


@pytest.fixture
def ask(browse: Browse, consultant: User, meter: Instrument) -> Any:
    browser: Client = browse(consultant)
    return lambda: browser.get(reverse("instrument-fitness", args=[meter.key]))


def zero(channel: Channel, hours: float, observed: float) -> FieldCheck:
    return FieldCheck.objects.create(channel=channel, kind="zero", at=make.START + hours * HOUR, observed=observed)


def test_an_instrument_of_which_nothing_is_known(ask: Any, channel: Channel) -> None:
    said = text(ask())
    assert "no calibration is entered: every reading is flagged as overdue" in said
    assert "No zero or span check is entered." in said
    assert "It has not been on site yet" in said
    assert "No campaign has a criterion on what it measures." in said
    assert "Nothing is entered of what else it responds to" in said
    assert "run in clean air before switching it off" in said
    assert "common practice, no source" in said


@pytest.mark.parametrize(
    ("due_in", "words", "warned"),
    [
        (-5, "overdue since", True),
        (1, "due in 1 day, on", True),
        (20, "due in 20 days, on", True),
        (90, "valid until", False),
    ],
)
def test_when_the_calibration_is_due(ask: Any, channel: Channel, due_in: int, words: str, warned: bool) -> None:
    due = timezone.localdate() + timedelta(days=due_in)
    Calibration.objects.create(channel=channel, date=due - timedelta(days=365), due=due)
    page = ask()
    assert f"{words} {due:%Y-%m-%d}" in text(page)
    assert any(words in sentence for sentence in page.context["warnings"]) == warned


def test_zero_and_span_over_time_with_their_band(ask: Any, channel: Channel) -> None:
    """The band is twice the zero uncertainty of 0.002 ppm, and 10 % by twice the span uncertainty of 0.05."""
    Calibration.objects.create(channel=channel, date=date(2026, 9, 1), due=date(2027, 9, 1))
    zero(channel, 0, 0.001)
    zero(channel, 24, 0.006)
    FieldCheck.objects.create(channel=channel, kind="span", at=make.START + 25 * HOUR, reference=1, observed=0.956)
    page = ask()
    ((_, (zeros, spans)),) = page.context["checks"]
    band, *_ = zeros.chart["layout"]["shapes"]
    assert (band["y0"], band["y1"]) == (-0.004, 0.004)
    assert [(t["name"], t["y"]) for t in zeros.chart["data"][1:]] == [("passed", [0.001]), ("failed", [0.006])]
    assert zeros.chart["data"][0]["x"] == ["2026-09-15 09:00", "2026-09-16 09:00", None], "site time"
    assert "±0.004 ppm (none entered: twice the zero uncertainty)" in zeros.caption
    assert zeros.summary == "2 checks, 1 failed; the last gave 0.006 ppm on 2026-09-16."
    assert [row["word"] for row in zeros.rows] == ["failed", "passed"]
    assert spans.chart["data"][1]["y"] == [pytest.approx(0.95)], "the zero of 0.006 comes off first: 0.95 / 1"
    assert "±10 % (none entered: twice the span uncertainty)" in spans.caption
    assert any(shape.get("x0") == "2026-09-01" for shape in zeros.chart["layout"]["shapes"])
    assert page.context["warnings"][0].startswith("1 field check failed: what rests on them is an indication until")


def test_zero_checks_around_the_days_on_site(ask: Any, campaign: Campaign, channel: Channel) -> None:
    for day in (0, 1):
        make.DeploymentFactory.create(
            campaign=campaign, instrument=channel.instrument,
            starts_at=make.START + 48 * day * HOUR, ends_at=make.START + (48 * day + 2) * HOUR,
        )  # fmt: skip
    zero(channel, -1, 0.001)
    zero(channel, 3, 0.001)
    zero(channel, 47, 0.001)
    page = ask()
    rows = [(f"{row['day']:%m-%d}", row["before"], row["after"]) for row in page.context["days"]]
    assert rows == [("09-17", "yes", "missing for formaldehyde"), ("09-15", "yes", "yes")]
    assert "No zero check before or after every day on site: 2026-09-17." in page.context["warnings"]


def test_what_it_can_decide(ask: Any, campaign: Campaign, channel: Channel) -> None:
    """It can show the WHO guideline kept; one that sees nothing under 0.5 ppm cannot."""
    make.CriterionFactory.create(campaign=campaign)  # 0.1 mg/m³ over 30 minutes
    ((where, (row,)),) = ask().context["decisions"]
    assert (where, row["decides"]) == (campaign, "yes")
    assert "could be called below this limit" in row["words"]
    channel.spec.resolution, channel.spec.detection_limit = 0.5, 0.5
    channel.spec.save()
    ((_, (row,)),) = ask().context["decisions"]
    assert row["decides"] != "yes"
    assert "cannot show compliance" in row["words"]


def test_who_sees_it(browse: Browse, field_staff: User, client_person: User, stranger: User, meter: Instrument) -> None:
    address = reverse("instrument-fitness", args=[meter.key])
    assert browse(field_staff).get(address).status_code == 200
    assert browse(client_person).get(address).status_code == 404
    assert browse(stranger).get(address).status_code == 404


def test_marks_of_two_calibrations_are_not_joined() -> None:
    """And words that people typed are no markup in the figure."""
    one, two = (CheckMark(f"2026-0{n}-01 09:00", n / 1000, False, "<b>x</b>") for n in (1, 2))
    figure = check_course([[one], [two]], ["2026-01-15"], name="zero, ppm", right=0.0, tolerance=0.004)
    assert figure["data"][0]["x"] == [one.at, None, two.at, None]
    assert figure["data"][1]["text"][0] == "&lt;b&gt;x&lt;/b&gt;"
    assert figure["layout"]["xaxis"]["range"] == ["2025-12-30 19:48", "2026-02-02 22:12"], "a twentieth on either side"
    low, high = figure["layout"]["yaxis"]["range"]
    assert low <= -0.004
    assert high >= 0.004


def test_a_failed_check_can_be_accepted_from_here(ask: Any, channel: Channel, consultant: User) -> None:
    check = zero(channel, 0, 0.03)
    page = ask()
    assert reverse("field-check-accept", args=[check.key]) in page.content.decode()
    assert "what rests on them is an indication until a person accepts them" in text(page)
    field_checks.accept(check, "bag not clean", consultant)
    assert f"failed; accepted by {consultant} on" in text(ask())


@pytest.mark.parametrize(("second", "told"), [(0.001, False), (0.004, True)])
def test_checks_that_contradict_the_certificate(ask: Any, channel: Channel, second: float, told: bool) -> None:
    """0.0005 ppm a day and a display of 0.001: 2·√(0.0005² + 2·0.001²/12) = 0.0013 ppm in a day."""
    zero(channel, 0, 0.0)
    zero(channel, 24, second)
    words = (
        "From the check of 2026-09-15 09:00 to the check of 2026-09-16 09:00 the zero moved by 0.00400 ppm, "
        "more than 0.00129 ppm: that is 2 · √(d² + r²), where d = 0.000500 ppm is the drift stated for its type over "
        "this time, and r = 0.000408 ppm how well the two checks are known (rounding, reference)."
    )
    assert (words.lower()[1:] in text(ask()).lower()) is told
