"""A stored report is read strictly, an older format through its upgraders, an unknown one not at all."""

from __future__ import annotations

import json
from typing import Any

import pytest

from campaigns import models as m
from campaigns.frozen.records import RecordError
from reports.content.canonical import digest
from reports.content.stored import from_store, to_store
from reports.content.upgrades import FORMAT, UPGRADERS, Stored, UnreadableFormat, upgraded
from reports.models import Report
from reports.queries.report_heads import heads_of, in_content, signed_revisions
from reports.services.freeze import freeze
from reports.services.release import sign_and_release
from tests.database import unguarded
from tests.reports.measured import House, house
from tests.reports.signing import signed_content
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site, limits=("HCHO-WHO10-30M", "HCHO-HC-8H"))


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def stored(measured: House) -> dict[str, Any]:
    return to_store(signed_content(freeze(measured.campaign)))


def test_what_is_stored_is_read_as_it_was(measured: House) -> None:
    signed = signed_content(freeze(measured.campaign))
    assert from_store(json.loads(json.dumps(to_store(signed)))) == signed


def test_it_says_nothing_that_its_types_do_not_declare(stored: dict[str, Any]) -> None:
    """Each of these is refused with the place of what is wrong, and nothing is filled in or dropped."""

    def zone(content: dict[str, Any]) -> dict[str, Any]:
        found: dict[str, Any] = content["buildings"][0]["floors"][0]["zones"][0]
        return found

    def without_client(content: dict[str, Any]) -> None:
        del content["client"]

    def with_notes(content: dict[str, Any]) -> None:
        zone(content)["notes"] = "internal"

    def text_for_a_number(content: dict[str, Any]) -> None:
        zone(content)["findings"][0]["result"]["value"] = "0.3"

    def number_for_a_truth(content: dict[str, Any]) -> None:
        zone(content)["measured"] = 1

    def nothing_for_a_text(content: dict[str, Any]) -> None:
        content["criteria"][1]["sentence"] = None

    at = "buildings.0.floors.0.zones.0"
    for spoil, where, words in (
        (without_client, "", "missing client"),
        (with_notes, at, "unknown notes"),
        (text_for_a_number, f"{at}.findings.0.result.value", "'0.3'"),
        (number_for_a_truth, f"{at}.measured", "true or false"),
        (nothing_for_a_text, "criteria.1.sentence", "None"),
    ):
        content = json.loads(json.dumps(stored))
        spoil(content)
        with pytest.raises(RecordError) as refused:
            from_store(content)
        assert ".".join(refused.value.path) == where
        assert words in refused.value.words


def test_a_database_may_spell_whole_numbers_without_a_point(stored: dict[str, Any]) -> None:
    altered = json.loads(json.dumps(stored))
    altered["site"]["altitude_m"] = int(stored["site"]["altitude_m"])
    assert from_store(altered) == from_store(stored)


def test_a_report_is_read_once_and_anew_when_it_is_another_content(measured: House, consultant: m.User) -> None:
    report = sign_and_release(measured.campaign, consultant)
    assert report.record is report.record
    client = report.record.client
    report.content = report.content | {"client": "Somebody else"}
    report.digest = digest(report.content)
    assert client != report.record.client == "Somebody else"


# --- formats ---


def test_an_older_format_goes_through_each_upgrader_in_turn() -> None:
    """An invented history: format 1 had one ``name``, format 2 splits it, format 3 knows a title that none had said."""

    def split(old: Stored) -> Stored:
        first, last = old["name"].split(" ")
        return {key: said for key, said in old.items() if key != "name"} | {"first": first, "last": last}

    def with_title(old: Stored) -> Stored:
        return old | {"title": None}

    kept = {"format": 1, "name": "Ada Example", "digest": "d"}
    told = upgraded(kept, upgraders={1: split, 2: with_title}, newest=3)
    assert told == {"format": 3, "first": "Ada", "last": "Example", "title": None, "digest": "d"}
    assert kept == {"format": 1, "name": "Ada Example", "digest": "d"}  # what was signed stays as it is
    assert upgraded(told, upgraders={1: split, 2: with_title}, newest=3) == told


def test_there_is_an_upgrader_from_each_format_that_was_released() -> None:
    """Formats before 4 were not: whoever raises the format has to add one."""
    assert sorted(UPGRADERS) == list(range(4, FORMAT))


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (FORMAT + 1, f"of format {FORMAT + 1}. This version of the program reads formats up to {FORMAT}"),
        (3, "of format 3, which this version of the program does not read"),
        ("4", "does not say in which format"),
        (None, "does not say in which format"),
    ],
)
def test_an_unknown_format_is_refused(number: Any, words: str, stored: dict[str, Any]) -> None:
    with pytest.raises(UnreadableFormat, match=words):
        from_store(stored | {"format": number})


@pytest.mark.parametrize("stored", [None, [], "text", 4])
def test_what_is_no_object_is_of_no_format(stored: Any) -> None:
    with pytest.raises(UnreadableFormat, match="does not say in which format"):
        from_store(stored)


# --- what lists read of it ---


def test_the_head_of_a_report_is_what_its_record_says(measured: House, consultant: m.User) -> None:
    report = sign_and_release(measured.campaign, consultant)
    record, head = report.record, heads_of(Report.objects.all())[report.pk]
    assert (head.site, head.campaign, head.revision) == (record.site.name, record.campaign.name, record.revision)
    assert (head.signature, head.summary) == (record.signature, record.summary[0])
    assert head.tally == record.criteria[0].tally
    (revision,) = signed_revisions(measured.campaign)
    assert (revision.report, revision.signature) == (report, record.signature)


def test_a_report_that_judged_nothing_has_a_head(measured: House, consultant: m.User) -> None:
    report = sign_and_release(measured.campaign, consultant)
    content = report.content | {"criteria": [], "summary": []}
    with unguarded("reports_report"):
        Report.objects.update(content=content, digest=digest(content))
    head = heads_of(Report.objects.all())[report.pk]
    assert not head.altered
    assert (head.summary, head.tally) == ("", ())


@pytest.mark.parametrize("path", [("sites", "name"), ("site", "names"), ("summary", "name"), ("site", "name", "first")])
def test_a_path_that_no_content_has_is_noticed(path: tuple[str, ...]) -> None:
    with pytest.raises(LookupError):
        in_content(*path)
