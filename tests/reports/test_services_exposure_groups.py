"""Groups of similar exposure, without a form."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from campaigns.models import Criterion, Deployment, Site, User
from reports.models import ExposureGroup, ExposureSample
from reports.services import exposure_groups
from tests import factories as make


@pytest.fixture
def criterion(site: Site) -> Criterion:
    return make.CriterionFactory(campaign__site=site)


@pytest.fixture
def stays(criterion: Criterion) -> list[Deployment]:
    return make.DeploymentFactory.create_batch(2, campaign=criterion.campaign)


def group_of(criterion: Criterion) -> ExposureGroup:
    return ExposureGroup(campaign=criterion.campaign, name="Desks", criterion=criterion)


def test_a_group_comes_with_its_samples(criterion: Criterion, stays: list[Deployment]) -> None:
    group = exposure_groups.make(group_of(criterion), stays)
    assert {sample.deployment for sample in group.samples.all()} == set(stays)
    exposure_groups.change(group, stays[:1], name="Desks by the window")
    assert [sample.deployment for sample in group.samples.all()] == stays[:1]
    assert ExposureGroup.objects.get().name == "Desks by the window"


def test_a_strangers_deployment_is_no_sample(criterion: Criterion, stranger: User) -> None:
    theirs = make.DeploymentFactory.create(campaign__site__organisation=stranger.memberships.get().organisation)
    with pytest.raises(ValidationError) as refused:
        exposure_groups.make(group_of(criterion), [theirs])
    assert refused.value.message_dict == {"samples": ["A sample is a deployment of the same campaign."]}
    assert not ExposureGroup.objects.exists(), "a group without its samples is not what was asked for"


def test_a_refused_change_keeps_the_samples(criterion: Criterion, stays: list[Deployment]) -> None:
    group = exposure_groups.make(group_of(criterion), stays)
    with pytest.raises(ValidationError, match="a share between 0 and 1"):
        exposure_groups.change(group, [], sampling_error=2.0)
    assert ExposureSample.objects.count() == 2
