"""Columns hold one of their choices, and numbers that are numbers; asked by SQL of both databases."""

from __future__ import annotations

import math
from contextlib import nullcontext
from typing import Any

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import connection
from django.db.models import CheckConstraint, DecimalField, FloatField, Model, Q
from django.utils.choices import CallableChoiceIterator

from campaigns.models import (
    AcceptanceLimit,
    Campaign,
    ChannelSpec,
    Deployment,
    FieldCheck,
    FloorPlan,
    Job,
    Limit,
    Room,
    Site,
)
from campaigns.models.bounds import InRange
from campaigns.services.records import save_changed
from methods.quantities.substances import SUBSTANCES
from readings.models import Upload
from reports.models import Finding, Result
from tests.database import unguarded
from tests.guards.asking import refused, sql
from tests.guards.houses import Rows, a_house
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")
MODELS = [model for label in ("campaigns", "readings", "reports") for model in apps.get_app_config(label).get_models()]
#: Numbers that are as a logger stored them: millions, of which the reader of logs sees to.
AS_STORED = {("Reading", "raw"), ("AsideReading", "raw")}

#: Of which a guard refuses every change before.
KEPT = {AcceptanceLimit}


def build(world: World) -> Rows:
    return a_house()


@pytest.fixture
def rows(own_world: World) -> Rows:
    found: Rows = own_world.built
    return found


def fields(kind: Any) -> list[tuple[type[Model], Any]]:
    return [(model, field) for model in MODELS for field in model._meta.concrete_fields if kind(field)]


CHOOSING = fields(lambda field: field.choices and not isinstance(field.choices, CallableChoiceIterator))
NUMBERS = fields(lambda field: isinstance(field, FloatField | DecimalField))


def said(value: Any) -> str:
    return f"{value[0].__name__}.{value[1].name}"


def names_in(condition: Any) -> set[str]:
    if isinstance(condition, Q):
        return {name for child in condition.children for name in names_in(child)}
    return {condition[0]}


def held_by(model: type[Model], ends: str) -> set[str]:
    kept = [one for one in model._meta.constraints if isinstance(one, CheckConstraint) and one.name.endswith(ends)]
    return {name for one in kept for name in names_in(one.condition)}


@pytest.mark.parametrize("one", CHOOSING, ids=said)
def test_every_field_with_choices_holds_one_of_them(rows: Rows, one: tuple[type[Model], Any]) -> None:
    model, field = one
    assert f"{field.name}__in" in held_by(model, "_choices_known")
    weird = f'UPDATE {model._meta.db_table} SET "{field.column}" = %s WHERE id = %s'
    refused(r"(?i)check constraint|stays_as_it_is", weird, "odd", rows[model].pk)


@pytest.mark.parametrize("number", ["'NaN'", "'Infinity'", "'-Infinity'", "1e308", "-1e308"])
@pytest.mark.parametrize("one", [one for one in NUMBERS if (one[0].__name__, one[1].name) not in AS_STORED], ids=said)
def test_every_number_is_one(rows: Rows, one: tuple[type[Model], Any], number: str) -> None:
    """SQLite has no such words for numbers and would keep them as text, which is refused as well."""
    model, field = one
    assert {f"{field.name}__gte", f"{field.name}__lte"} <= held_by(model, "_within_range")
    if isinstance(field, DecimalField) and number != "'NaN'":
        return  # PostgreSQL refuses by the number of its digits
    changed = f"UPDATE {model._meta.db_table} SET {field.column} = {number} WHERE id = %s"
    with unguarded(model._meta.db_table) if model in KEPT else nullcontext():
        refused(r"(?i)check constraint", changed, rows[model].pk)


def test_numbers_at_the_end_of_a_range_are_in_it(rows: Rows) -> None:
    assert sql("UPDATE campaigns_room SET area_m2 = 1e6, height_m = 500 WHERE id = %s", rows[Room].pk) == 1
    refused(
        "room_within_range|room_size_bounded",
        "UPDATE campaigns_room SET area_m2 = 1000001 WHERE id = %s",
        rows[Room].pk,
    )


def test_infinite_numbers_given_to_the_driver(rows: Rows) -> None:
    for number in (math.inf, -math.inf):
        refused("within_range|size", "UPDATE campaigns_room SET area_m2 = %s WHERE id = %s", number, rows[Room].pk)
    if connection.vendor == "sqlite":
        refused("NOT NULL", "UPDATE campaigns_site SET altitude_m = %s WHERE id = %s", math.nan, rows[Site].pk)


def test_times_far_off_are_refused(rows: Rows) -> None:
    for when in ("'0900-01-01 00:00:00+00:00'", "'9999-01-01 00:00:00+00:00'"):
        refused(
            "deployment_within_range|ends_after|one_place",
            f"UPDATE campaigns_deployment SET starts_at = {when}, ends_at = NULL WHERE id = %s",
            rows[Deployment].pk,
        )
    if connection.vendor == "postgresql":
        forever = "UPDATE campaigns_deployment SET ends_at = 'infinity' WHERE id = %s"
        refused("deployment_within_range", forever, rows[Deployment].pk)


@pytest.mark.parametrize("number", [math.nan, math.inf, 1e308, -1e308])
def test_people_are_told_before(rows: Rows, number: float) -> None:
    """Also of what SQLite would store as nothing said."""
    with pytest.raises(ValidationError) as caught:
        save_changed(rows[Room], area_m2=number)
    assert "area_m2" in caught.value.message_dict
    with pytest.raises(ValidationError) as caught:
        save_changed(rows[FieldCheck], observed=number)
    assert list(caught.value.message_dict) == ["observed"]


def test_in_which_words() -> None:
    for value, words in ((2e6, "At most 1,000,000."), (-1, "At least 0."), (math.nan, "This is not a number.")):
        with pytest.raises(ValidationError, match=words):
            InRange(0.0, 1e6)(value)
    InRange(0.0, 1e6)(None)


def test_substances_are_data_and_no_matter_of_the_database() -> None:
    assert len(SUBSTANCES) > 10
    for model in (ChannelSpec, Limit):
        assert "parameter__in" not in held_by(model, "_choices_known")


def test_of_each_kind_some_are_asked() -> None:
    models = {model for model, _ in [*CHOOSING, *NUMBERS]}
    assert {Campaign, Job, Limit, Upload, Result, FloorPlan, ChannelSpec, Site} <= models
    assert "verdict__in" in held_by(Finding, "_choices_known") & held_by(Result, "_choices_known")
