"""Looking through limits, confirming one, and limits of the house."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from campaigns import history
from campaigns import models as m
from campaigns.models import Limit, LimitCheck
from campaigns.models.limits import in_force_on, today
from methods.limits.loader import load
from tests import factories as make
from tests.reports.measured import house
from tests.reports.pages import Browse, text_of
from tests.worlds import member

OWN: dict[str, Any] = {
    "parameter": "formaldehyde", "value": "0.05", "unit": "mg/m³", "averaging": "rolling_mean",
    "averaging_minutes": "60", "body": "Client’s specification", "document": "Fit-out brief, clause 7",
}  # fmt: skip


@pytest.fixture
def own(organisation: m.Organisation) -> Limit:
    fields = OWN | {"averaging_minutes": 60, "text": "fit-out target"}
    return Limit.objects.create(organisation=organisation, code="OWN-TEST", needs_check=False, **fields)


def who(code: str = "HCHO-WHO10-30M") -> Limit:
    return Limit.objects.get(code=code, organisation__isnull=True)


# --- looking ----------------------------------------------------------------------------------------------------------


def rows(page: Any) -> list[str]:
    return [row[0]["url"] for row in page.context["rows"]]


def test_one_parameter_at_a_time_in_force(consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(reverse("limits"))
    expected = [limit for limit in load().values() if limit.parameter == "formaldehyde" and limit.in_force_on(today())]
    assert len(rows(page)) == len(expected)
    old = browse(consultant).get(reverse("limits") + "?superseded=on")
    assert len(rows(old)) == sum(limit.parameter == "formaldehyde" for limit in load().values())
    radon = browse(consultant).get(reverse("limits") + "?parameter=radon")
    assert "Bq/m³" in text_of(radon)


@pytest.mark.parametrize("day", [date(2019, 6, 1), date(2026, 12, 11), date(2026, 12, 12), date(2030, 1, 1)])
def test_table_and_library_agree_about_what_is_in_force_on_a_day(day: date, organisation: m.Organisation) -> None:
    expected = {code for code, limit in load().items() if limit.in_force_on(day)}
    published = Limit.objects.filter(organisation__isnull=True)
    assert set(published.filter(in_force_on(day)).values_list("code", flat=True)) == expected
    assert {limit.code for limit in published if limit.in_force_on(day)} == expected


def test_a_limit_to_come_is_neither_listed_nor_called_in_force(
    consultant: m.User, browse: Browse, monkeypatch: pytest.MonkeyPatch
) -> None:
    url = reverse("limit", args=[who("PM25-EU-2030-A").key])
    for day, is_listed in ((date(2029, 12, 31), False), (date(2030, 1, 1), True)):
        monkeypatch.setattr("campaigns.pages.limit_catalogue.today", lambda day=day: day)
        monkeypatch.setattr("campaigns.models.limits.today", lambda day=day: day)
        assert (url in rows(browse(consultant).get(reverse("limits") + "?parameter=pm25"))) is is_listed
        every = text_of(browse(consultant).get(reverse("limits") + "?parameter=pm25&superseded=on"))
        assert ("in force from 2030-01-01" in every) is not is_listed


def test_it_is_narrowed_by_population_and_words(consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(reverse("limits") + "?population=workplace&text=niosh")
    assert len(rows(page)) == 3
    assert reverse("limit", args=[who("HCHO-NIOSH-TWA").key]) in rows(page)
    none = browse(consultant).get(reverse("limits") + "?text=zzz")
    assert "No limit fits" in text_of(none)


@pytest.mark.parametrize("query", ["?parameter=phlogiston", "?population=martians", "?sort=nonsense"])
def test_a_typed_address_falls_back(consultant: m.User, browse: Browse, query: str) -> None:
    assert browse(consultant).get(reverse("limits") + query).status_code == 200


def test_values_are_ordered_on_one_axis_across_units(consultant: m.User, browse: Browse) -> None:
    """0.1 mg/m³ = 100 µg/m³; 0.1 ppm at 25 °C = 122.7 µg/m³ (U-07); 123 µg/m³ comes after both."""
    page = browse(consultant).get(reverse("limits") + "?sort=value")
    place = {url: n for n, url in enumerate(rows(page))}
    keys = ["HCHO-NIOSH-TWA", "HCHO-HC-8H", "HCHO-WHO10-30M", "HCHO-NIOSH-C", "HCHO-HC-1H", "HCHO-OSHA-TWA"]
    order = [place[reverse("limit", args=[who(code).key])] for code in keys]
    assert order == sorted(order)


def test_published_pairs_are_placed_and_never_recomputed(consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(reverse("limits"))
    figure, unit = page.context["figure"], page.context["unit"]
    assert unit == "µg/m³"
    own = next(trace for trace in figure["data"] if trace["name"] == "in force")
    converted = next(trace for trace in figure["data"] if trace["name"] == "in force, placed by conversion")
    at = dict(zip(own["text"], own["x"], strict=True))
    assert at["≤ 0.1 mg/m³, worst 30-minute mean – WHO (Europe) 2010"] == pytest.approx(100.0)
    at = {text.partition("<br>")[0]: x for text, x in zip(converted["text"], converted["x"], strict=True)}
    assert at["≤ 0.1 ppm, worst 15-minute mean (ceiling) – NIOSH"] == pytest.approx(122.73, abs=0.01)
    assert all("placed here by conversion at" in text for text in converted["text"])
    assert "≤ 0.1 ppm" in text_of(page), "the table keeps the document's own number"


def test_what_has_no_place_on_the_axis_is_counted(consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(reverse("limits") + "?parameter=tvoc&superseded=on")
    assert page.context["unplaced"] >= 1
    assert "no place on this axis" in text_of(page)
    marks = sum(len(trace["x"]) for trace in page.context["figure"]["data"])
    assert marks == page.context["count"] - page.context["unplaced"]


@pytest.mark.parametrize("parameter", ["temperature", "humidity", "co2", "co", "no2", "o3", "pm25", "pm10", "benzene"])
def test_every_parameter_has_a_page(consultant: m.User, browse: Browse, parameter: str) -> None:
    page = browse(consultant).get(reverse("limits") + f"?parameter={parameter}&superseded=on")
    assert page.status_code == 200
    is_log = page.context["figure"]["layout"]["xaxis"].get("type") == "log"
    assert is_log is (parameter not in ("temperature", "humidity"))


@pytest.mark.parametrize("code", ["HCHO-NIOSH-IDLH", "TRH-HK-T-EX", "TRH-WHO", "HCHO-WHO10-30M"])
def test_every_kind_of_limit_has_a_page(consultant: m.User, browse: Browse, code: str) -> None:
    limit = who(code) if code in load() else who()
    page = browse(consultant).get(reverse("limit", args=[limit.key]))
    assert page.status_code == 200
    published = load()[limit.code]
    text = text_of(page)
    assert published.value_text() in text
    assert published.document in text
    assert published.population in text


# --- confirming -------------------------------------------------------------------------------------------------------


@pytest.mark.history
def test_confirming_notes_who_and_when_for_the_house_and_for_no_other(
    consultant: m.User, stranger: m.User, organisation: m.Organisation, browse: Browse
) -> None:
    limit = who()
    assert browse(consultant).post(reverse("limit-check", args=[limit.key])).status_code == 302
    check = LimitCheck.objects.get(limit=limit)
    assert (check.organisation, check.by) == (organisation, consultant)
    assert str(consultant) in {change.who for change in history.of(check)}
    ours = text_of(browse(consultant).get(reverse("limit", args=[limit.key])))
    assert f"Yes, by {consultant}" in ours
    theirs = text_of(browse(stranger).get(reverse("limit", args=[limit.key])))
    assert str(consultant) not in theirs
    assert "Check against the document." in theirs


def test_a_second_check_replaces_the_first(consultant: m.User, organisation: m.Organisation, browse: Browse) -> None:
    colleague = member(organisation, m.Role.CONSULTANT, "colleague@fanlight.example")
    for person in (consultant, colleague):
        browse(person).post(reverse("limit-check", args=[who().key]))
    assert LimitCheck.objects.get(limit=who()).by == colleague


def test_field_staff_do_not_confirm_and_own_limits_need_it_not(
    field_staff: m.User, consultant: m.User, own: Limit, browse: Browse
) -> None:
    assert browse(field_staff).post(reverse("limit-check", args=[who().key])).status_code == 404
    assert browse(consultant).post(reverse("limit-check", args=[own.key])).status_code == 404
    assert not LimitCheck.objects.exists()
    assert "I have checked this" not in text_of(browse(field_staff).get(reverse("limit", args=[who().key])))


# --- limits of the house ----------------------------------------------------------------------------------------------


def test_a_limit_of_the_house_is_entered_and_reads_like_a_published_one(
    consultant: m.User, organisation: m.Organisation, browse: Browse
) -> None:
    answer = browse(consultant).post(reverse("limit-add"), OWN, follow=True)
    limit = Limit.objects.get(organisation=organisation)
    assert answer.redirect_chain[-1][0] == reverse("limit", args=[limit.key])
    assert limit.text == "≤ 0.05 mg/m³, worst 60 min mean – Client’s specification"
    assert limit.needs_check is False
    assert limit.code.startswith("OWN-")
    library = limit.as_library()
    assert (library.upper, library.averaging_minutes, library.unit) == (0.05, 60, "mg/m³")
    assert "limit of Lintel & Sill Air Consultants" in text_of(browse(consultant).get(reverse("limits")))


@pytest.mark.parametrize(
    ("wrong", "field", "told"),
    [
        ({"value": ""}, "value", "required"),
        ({"value": "-1"}, "value", "not below zero"),
        ({"averaging_minutes": ""}, "averaging_minutes", "say how many minutes"),
        ({"occupied": "day"}, "averaging_minutes", "leave this empty"),
        ({"occupied": "day", "averaging_minutes": ""}, "averaging", "over a sample"),
        ({"occupied": "time", "averaging": "shift_twa"}, "occupied", "a time of its own"),
        ({"occupied": "night"}, "occupied", "Select a valid choice"),
        ({"averaging_minutes": "0"}, "averaging_minutes", "greater than or equal to 1"),
        ({"averaging": "percentile"}, "averaging", "Select a valid choice"),
        ({"unit": "Bq/m³"}, "unit", "Formaldehyde is limited in"),
        ({"body": ""}, "body", "required"),
    ],
)
def test_a_wrong_entry_is_told_at_its_field(
    consultant: m.User, browse: Browse, wrong: dict[str, str], field: str, told: str
) -> None:
    page = browse(consultant).post(reverse("limit-add"), OWN | wrong)
    assert page.status_code == 422
    assert told in " ".join(page.context["form"].errors[field])
    assert not Limit.objects.filter(organisation__isnull=False).exists()


@pytest.mark.parametrize(
    ("changes", "statistic"),
    [
        ({"occupied": "time"}, "worst 60 min mean, in the time of use"),
        (
            {"occupied": "day", "averaging": "sample_mean", "averaging_minutes": ""},
            "mean over the time of use of a day",
        ),
    ],
)
def test_a_limit_of_the_house_may_be_for_occupied_time(
    consultant: m.User, organisation: m.Organisation, browse: Browse, changes: dict[str, str], statistic: str
) -> None:
    browse(consultant).post(reverse("limit-add"), OWN | changes)
    limit = Limit.objects.get(organisation=organisation)
    assert limit.as_library().occupied == changes["occupied"]
    assert statistic in limit.text
    assert "by a timetable of use" in text_of(browse(consultant).get(reverse("limit", args=[limit.key])))


def test_a_tolerance_of_the_rule_is_entered_and_said(own: Limit, consultant: m.User, browse: Browse) -> None:
    edit = reverse("limit-edit", args=[own.key])
    refused = browse(consultant).post(edit, OWN | {"tolerance": "20"})
    assert refused.status_code == 422
    browse(consultant).post(edit, OWN | {"tolerance": "0.2"})
    own.refresh_from_db()
    assert own.text.startswith("≤ 0.05 mg/m³ with the rule's own tolerance of 20 %")
    assert "the rule’s own: 20 %" in text_of(browse(consultant).get(reverse("limit", args=[own.key])))


@pytest.mark.history
def test_an_edited_limit_is_judged_again(site: m.Site, consultant: m.User, own: Limit, browse: Browse) -> None:
    found = house(site)
    make.CriterionFactory(campaign=found.campaign, limit=own)
    m.Job.objects.all().delete()
    browse(consultant).post(reverse("limit-edit", args=[own.key]), OWN | {"value": "0.09"})
    own.refresh_from_db()
    assert str(own.value) == "0.090000"
    assert own.text.startswith("≤ 0.09 mg/m³")
    assert m.Job.objects.filter(kind="evaluate", subject_id=found.campaign.pk, state="queued").exists()
    assert "Value" in text_of(browse(consultant).get(reverse("limit-history", args=[own.key])))


def test_a_limit_in_use_stays_and_an_unused_one_goes(
    site: m.Site, consultant: m.User, own: Limit, browse: Browse
) -> None:
    criterion = make.CriterionFactory(campaign__site=site, limit=own)
    blocked = browse(consultant).post(reverse("limit-delete", args=[own.key]))
    assert blocked.status_code == 409
    assert "1 criterion hangs on it" in text_of(blocked)
    criterion.delete()
    assert browse(consultant).post(reverse("limit-delete", args=[own.key])).status_code == 302
    assert not Limit.objects.filter(pk=own.pk).exists()


def test_published_limits_cannot_be_changed_and_those_of_others_are_not_there(
    consultant: m.User, stranger: m.User, field_staff: m.User, own: Limit, browse: Browse
) -> None:
    for route in ("limit-edit", "limit-delete"):
        assert browse(consultant).get(reverse(route, args=[who().key])).status_code == 404
        assert browse(consultant).post(reverse(route, args=[who().key]), OWN).status_code == 404
        assert browse(field_staff).get(reverse(route, args=[own.key])).status_code == 404
        assert browse(stranger).post(reverse(route, args=[own.key]), OWN).status_code == 404
    assert browse(stranger).get(reverse("limit", args=[own.key])).status_code == 404
    assert str(own) not in text_of(browse(stranger).get(reverse("limits")))


def test_who_plans_for_two_houses_says_for_which(
    consultant: m.User, organisation: m.Organisation, browse: Browse
) -> None:
    other = make.OrganisationFactory(name="Second House")
    m.Membership.objects.create(user=consultant, organisation=other, role=m.Role.CONSULTANT)
    unsaid = browse(consultant).post(reverse("limit-add"), OWN)
    assert unsaid.status_code == 422
    assert "organisation" in unsaid.context["form"].errors
    browse(consultant).post(reverse("limit-add"), OWN | {"organisation": str(other.pk)})
    assert Limit.objects.get(organisation__isnull=False).organisation == other
