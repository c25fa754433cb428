"""Groups of similar exposure: made, summarised, held against the rules, and what they change in judging."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from django.urls import reverse

from campaigns import history
from campaigns import models as m
from campaigns.models import Criterion
from methods.exposure import CensoredLognormal, Lognormal, StatisticalTest, fit, fit_censored, statistical_test
from reports.models import ExposureGroup, ExposureSample, Result
from tests import factories as make
from tests.reports.judging import store
from tests.reports.measured import House, house, judge, work
from tests.reports.pages import Browse, text_of
from tests.worlds import World

SHIFTS = [0.031, 0.052, 0.044, 0.083, 0.025, 0.061]  # ppm


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    """Six shifts of eight hours against OSHA's 0.75 ppm."""
    found = house(world.site, limits=("HCHO-OSHA-TWA",))
    m.FieldCheck.objects.create(
        channel=found.channel, kind="zero", at=make.START + timedelta(days=9), reference=0, observed=0.0
    )
    point = found.empty.rooms.get().points.get()
    for day, level in enumerate(SHIFTS, start=1):
        start = make.START + timedelta(days=day)
        make.DeploymentFactory(
            campaign=found.campaign, instrument=found.instrument, point=point, starts_at=start,
            ends_at=start + timedelta(hours=8),
        )  # fmt: skip
        store(found, found.channel, start, [level] * 480)
    judge(found.campaign)
    return found


@pytest.fixture
def shifts(own_world: World) -> House:
    built: House = own_world.built
    return built


def made(found: House, sampling: str = "area") -> ExposureGroup:
    group = ExposureGroup.objects.create(
        campaign=found.campaign, name="Bench hands", criterion=Criterion.objects.get(), sampling=sampling
    )
    for deployment in found.campaign.deployments.filter(point__room__zone=found.empty):
        ExposureSample.objects.create(group=group, deployment=deployment)
    work()
    return group


def url(route: str, row: object) -> str:
    return reverse(route, args=[row.key])  # type: ignore[attr-defined]


@pytest.mark.history
def test_a_group_is_made_changed_and_kept_in_the_history(shifts: House, consultant: m.User, browse: Browse) -> None:
    samples = list(shifts.campaign.deployments.filter(point__room__zone=shifts.empty))
    sent = {
        "name": "Bench hands",
        "criterion": Criterion.objects.get().pk,
        "sampling": "area",
        "sampling_error": "0.25",
    }
    browse(consultant).post(
        url("exposure-group-add", shifts.campaign), {**sent, "samples": [d.pk for d in samples[:4]]}
    )
    group = ExposureGroup.objects.get()
    assert [sample.deployment for sample in group.samples.all()] == samples[:4]
    browse(consultant).post(url("exposure-group-edit", group), {**sent, "samples": [d.pk for d in samples[2:]]})
    assert [sample.deployment for sample in group.samples.all()] == samples[2:]
    assert any(change.field.lower() == "name" for change in history.of(group))
    sample = group.samples.first()
    assert sample is not None
    assert history.of(sample)
    again = browse(consultant).post(url("exposure-group-add", shifts.campaign), sent)
    assert "This campaign already has a group of this name." in text_of(again)
    assert "Bench hands" in text_of(browse(consultant).get(url("exposure-groups", shifts.campaign)))


def test_deployments_and_criteria_of_elsewhere_are_not_taken(shifts: House, consultant: m.User, browse: Browse) -> None:
    elsewhere = make.DeploymentFactory(campaign__site__organisation=shifts.campaign.site.organisation)
    other = make.CriterionFactory(campaign=elsewhere.campaign, limit=Criterion.objects.get().limit)
    sent = {"name": "Bench hands", "criterion": other.pk, "sampling": "area", "samples": [elsewhere.pk]}
    page = browse(consultant).post(url("exposure-group-add", shifts.campaign), sent)
    assert page.status_code == 422
    assert set(page.context["form"].errors) == {"criterion", "samples"}
    assert not ExposureGroup.objects.exists()


@pytest.mark.parametrize("route", ["exposure-group-add", "exposure-group-edit"])
def test_a_number_that_no_deployment_has(shifts: House, consultant: m.User, browse: Browse, route: str) -> None:
    row = shifts.campaign if route.endswith("add") else made(shifts)
    sent = {"name": "Bench hands", "criterion": Criterion.objects.get().pk, "sampling": "area", "samples": ["9" * 20]}
    page = browse(consultant).post(url(route, row), sent)
    assert (page.status_code, list(page.context["form"].errors)) == (422, ["samples"])


def test_the_page_prints_what_the_pure_functions_give(shifts: House, consultant: m.User, browse: Browse) -> None:
    """GM, GSD, 95th percentile and EN 689 of the six shifts (functions held against L-01 to L-15 elsewhere)."""
    group = made(shifts)
    page = browse(consultant).get(url("exposure-group", group))
    facts = dict(page.context["told"].facts)
    values = np.array([float(row[1]["text"].split()[0]) for row in page.context["told"].rows])
    assert values == pytest.approx(SHIFTS, abs=6e-3)
    fitted = fit(np.array(SHIFTS))
    assert isinstance(fitted, Lognormal)
    assert float(facts["Geometric mean"].split()[0]) == pytest.approx(fitted.gm, rel=0.01)
    assert float(facts["Geometric standard deviation"]) == pytest.approx(fitted.gsd, rel=0.01)
    assert float(facts["95th percentile"].split()[0]) == pytest.approx(fitted.percentile(), rel=0.01)
    decisions = dict(page.context["told"].decisions)
    test = statistical_test(fitted, 0.75)
    assert isinstance(test, StatisticalTest)
    assert f"U_T {test.u_t:.3f}" in decisions["EN 689, statistical test"]
    assert decisions["EN 689, statistical test"].startswith("Passed.")
    assert decisions["EN 689, preliminary test"].startswith("No decision.")
    figure = page.context["told"].figure
    assert sorted(figure["data"][1]["y"]) == pytest.approx(sorted(SHIFTS), rel=1e-3)
    text = text_of(page)
    assert "An area sample only indicates what a person breathes." in text
    assert "Exposure at work is judged from samples worn by the person and by the law that applies." in text
    assert "safe" not in text


def test_more_than_half_below_detection_is_warned_of_and_has_bounds(
    shifts: House, consultant: m.User, browse: Browse
) -> None:
    """Five of eight shifts below 0.048 ppm: bounds by the profile likelihood, in the page's own digits."""
    point = shifts.empty.rooms.get().points.get()
    for day in (7, 8):
        start = make.START + timedelta(days=day)
        make.DeploymentFactory(
            campaign=shifts.campaign, instrument=shifts.instrument, point=point, starts_at=start,
            ends_at=start + timedelta(hours=8),
        )  # fmt: skip
        store(shifts, shifts.channel, start, [0.03] * 480)
    m.ChannelSpec.objects.update(detection_limit=0.048)
    judge(shifts.campaign)
    page = browse(consultant).get(url("exposure-group", made(shifts)))
    told = page.context["told"]
    assert told.warning.startswith("62 % of the results are below detection.")
    assert "More than half below detection." in text_of(page)
    facts = dict(told.facts)
    assert facts["Results"] == "8, of which 5 below detection"
    values = np.array([0.052, 0.083, 0.061, *[0.048] * 5])
    fitted = fit_censored(values, values == 0.048)
    assert isinstance(fitted, CensoredLognormal)
    upper = float(facts["Upper tolerance limit"].split()[0])
    assert upper == pytest.approx(fitted.percentile_bounds().upper, rel=0.01)
    assert "by the profile likelihood" in dict(told.decisions)["EN 689, statistical test"]


def test_personal_samples_say_for_how_large_a_group_they_are_enough(
    shifts: House, consultant: m.User, browse: Browse
) -> None:
    """NIOSH 77-173, table 3-1: of up to seven workers all are sampled. Area samples are of no worker."""
    group = made(shifts, "personal")
    told = browse(consultant).get(url("exposure-group", group)).context["told"]
    said = dict(told.decisions)["NIOSH 77-173, workers to sample"]
    assert said.startswith("6 workers, chosen at random, are enough for a group of up to 6")
    group.sampling = "area"
    group.save()
    told = browse(consultant).get(url("exposure-group", group)).context["told"]
    assert "NIOSH 77-173, workers to sample" not in dict(told.decisions)


def test_too_few_and_unfit_samples_are_said(shifts: House, consultant: m.User, browse: Browse) -> None:
    group = made(shifts)
    short = group.samples.all()[2:]
    for sample in short:
        m.Deployment.objects.filter(pk=sample.deployment_id).update(
            ends_at=sample.deployment.starts_at + timedelta(hours=2)
        )
    judge(shifts.campaign)
    told = browse(consultant).get(url("exposure-group", group)).context["told"]
    assert told.refusal == "2 results; a group needs 3 at least."
    assert len(told.left_out) == 4
    assert "of a shift of 8 h" in told.left_out[0][1]


def test_a_personal_sample_is_a_comparison_and_an_area_sample_an_indication(shifts: House) -> None:
    area = first_shift(shifts)
    assert area.comparability == "indicative"
    group = made(shifts, "personal")
    personal = first_shift(shifts)
    assert personal.comparability == "yes"
    assert "the instrument was worn by a person, as its exposure group says" in personal.traced.said
    group.delete()
    assert m.Job.objects.filter(kind="evaluate", state="queued").exists()


def first_shift(found: House) -> Result:
    return Result.objects.filter(point__room__zone=found.empty).order_by("deployment__starts_at")[0]


def test_field_staff_read_and_do_not_make(shifts: House, field_staff: m.User, stranger: m.User, browse: Browse) -> None:
    group = made(shifts)
    assert browse(field_staff).get(url("exposure-group", group)).status_code == 200
    assert "Add a group" not in text_of(browse(field_staff).get(url("exposure-groups", shifts.campaign)))
    assert browse(field_staff).post(url("exposure-group-add", shifts.campaign), {}).status_code == 404
    for route, row in (("exposure-group", group), ("exposure-groups", shifts.campaign)):
        assert browse(stranger).get(url(route, row)).status_code == 404
