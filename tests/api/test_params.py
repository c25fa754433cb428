from __future__ import annotations

import uuid
from datetime import UTC, datetime

import pytest
from django.http import QueryDict
from rest_framework.exceptions import ValidationError

from campaigns.api.paging import read_page_size
from campaigns.api.params import by_key, read_all, read_key, read_time, refuse_unknown
from campaigns.models import Site
from tests import factories as make
from tests.api.program import Program


def test_a_key_in_its_canonical_form() -> None:
    """RFC 9562, 4: 8-4-4-4-12 hexadecimal digits, upper case on input allowed."""
    text = "f81d4fae-7dec-11d0-a765-00a0c91e6bf6"
    assert read_key(text) == read_key(text.upper()) == uuid.UUID(text)
    for other in (text.replace("-", ""), "{" + text + "}", "urn:uuid:" + text, text[:-1], "", " " + text):
        with pytest.raises(ValueError, match="is not a key"):
            read_key(other)


@pytest.mark.parametrize(
    ("text", "hour"),
    [("1985-04-12T23:20:50.52Z", 23), ("1996-12-19T16:39:57-08:00", 0), ("1990-12-31T23:59:00Z", 23)],
)
def test_times_as_rfc_3339_writes_them(text: str, hour: int) -> None:
    """Examples of RFC 3339, 5.8 (the leap second left out: Python knows none)."""
    assert read_time(text).astimezone(UTC).hour == hour


def test_a_time_with_blank_for_plus_is_explained() -> None:
    with pytest.raises(ValueError, match="%2B"):
        read_time("2026-09-15T08:00:00 00:00")
    assert read_time("2026-09-15T08:00:00+00:00") == datetime(2026, 9, 15, 8, tzinfo=UTC)


@pytest.mark.parametrize("text", ["0", "-1", "1001", "1e3", "ten", "", "٣", "9" * 5000])
def test_a_page_size_is_a_number_from_1_to_1000(text: str) -> None:
    with pytest.raises(ValueError, match="from 1 to 1000"):
        read_page_size(text)


def test_page_sizes_at_the_edges() -> None:
    assert [read_page_size("1"), read_page_size("1000")] == [1, 1000]


def test_all_mistakes_are_named_at_once() -> None:
    filters = {"site": by_key("site", "", required=True), "room": by_key("room", "")}
    with pytest.raises(ValidationError) as refused:
        read_all(QueryDict("room=x"), filters)
    assert set(refused.value.detail) == {"site", "room"}


def test_given_twice_is_a_mistake() -> None:
    with pytest.raises(ValidationError) as refused:
        refuse_unknown(QueryDict("site=1&site=2&shelf=3"), {"site"})
    assert set(refused.value.detail) == {"site", "shelf"}


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("page_size", "0"),
        ("page_size", "1001"),
        ("page_size", "many"),
        ("cursor", "nonsense"),
        ("cursor", "cD1ub3doZXJl"),  # p=nowhere
        ("cursor", "ü"),
        ("cursor", "bz1mYXI="),  # o=far
        ("cursor", "cj14"),  # r=x
        ("format", "xml"),
    ],
)
def test_what_the_pages_cannot_read(program: Program, name: str, text: str) -> None:
    response = program.ask("sites/", **{name: text})
    assert response.status_code == 400
    assert set(response.json()) == {name}


def test_page_size(site: Site, program: Program) -> None:
    make.SiteFactory.create_batch(101, organisation=site.organisation, client=None)
    assert len(program.rows("sites/")) == 100
    assert len(program.rows("sites/", page_size=1000)) == 102
    assert len(program.rows("sites/", page_size=7)) == 7


def test_links_keep_what_was_asked(site: Site, program: Program) -> None:
    make.BuildingFactory.create_batch(3, site=site)
    make.BuildingFactory.create(site__organisation=site.organisation)
    first = program.body("buildings/", site=site.key, page_size=2)
    second = program.follow(first["next"])
    assert {row["site"] for row in [*first["results"], *second["results"]]} == {str(site.key)}
    assert (len(second["results"]), second["next"]) == (1, None)


def test_head_is_get_without_a_body(site: Site, program: Program) -> None:
    response = program.client.head("/api/v1/sites/")
    assert (response.status_code, response.content) == (200, b"")
