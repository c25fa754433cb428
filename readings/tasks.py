"""The jobs of collecting."""

from __future__ import annotations

from collections.abc import Iterable

from django.urls import reverse

from campaigns.enqueue import Outcome, handles
from campaigns.job_subjects import Subject, subjects_of
from campaigns.models import Campaign, Instrument, Job
from campaigns.services.instrument_state import zone_of
from readings.job_kinds import COMPARE_CLOCKS, LOOK_FOR_ALERTS, READ_UPLOAD, REVIEW_CLOCK, SET_ASIDE, TELL_ALERT
from readings.models import Alert, Upload
from readings.services.alerts.looking import look_for_alerts
from readings.services.alerts.telling import tell
from readings.services.clock_review import review_instrument
from readings.services.lag_comparison import compare_clocks
from readings.services.reading import read_upload
from readings.services.withdrawing import set_readings_aside


@handles(READ_UPLOAD, "Read the log", again="Read it again")
def read(job: Job) -> Outcome:
    return read_upload(job)


@handles(SET_ASIDE, "Set its readings aside")
def set_aside(job: Job) -> Outcome:
    return set_readings_aside(job)


@subjects_of(SET_ASIDE)
@subjects_of(READ_UPLOAD)
def uploads(ids: Iterable[int]) -> dict[int, Subject]:
    rows = Upload.objects.filter(pk__in=list(ids))
    told = rows.values_list("pk", "filename", "key", "campaign__site__time_zone")
    return {pk: Subject(filename, reverse("upload", args=[key]), zone) for pk, filename, key, zone in told}


@handles(REVIEW_CLOCK, "Look where its logs lie")
def review(job: Job) -> Outcome:
    return review_instrument(job)


@subjects_of(REVIEW_CLOCK)
def instruments(ids: Iterable[int]) -> dict[int, Subject]:
    rows = Instrument.objects.filter(pk__in=list(ids))
    return {row.pk: Subject(row.name, reverse("instrument-clock", args=[row.key]), zone_of(row)) for row in rows}


@handles(COMPARE_CLOCKS, "Lay its logs on each other")
def compare(job: Job) -> Outcome:
    return compare_clocks(job)


@subjects_of(COMPARE_CLOCKS)
def campaigns(ids: Iterable[int]) -> dict[int, Subject]:
    rows = Campaign.objects.filter(pk__in=list(ids)).values_list("pk", "name", "key", "site__time_zone")
    return {pk: Subject(name, reverse("timeline", args=[key]), zone) for pk, name, key, zone in rows}


@handles(LOOK_FOR_ALERTS, "Look for alerts")
def look(job: Job) -> Outcome:
    return look_for_alerts(job)


@subjects_of(LOOK_FOR_ALERTS)
def looked_at(ids: Iterable[int]) -> dict[int, Subject]:
    rows = Campaign.objects.filter(pk__in=list(ids)).values_list("pk", "name", "key", "site__time_zone")
    return {pk: Subject(name, reverse("alerts", args=[key]), zone) for pk, name, key, zone in rows}


@handles(TELL_ALERT, "Tell of an alert")
def tell_people(job: Job) -> Outcome:
    return tell(job)


@subjects_of(TELL_ALERT)
def alerts(ids: Iterable[int]) -> dict[int, Subject]:
    rows = Alert.objects.filter(pk__in=list(ids)).values_list("pk", "level_words", "key", "campaign__site__time_zone")
    return {pk: Subject(words, reverse("alert", args=[key]), zone) for pk, words, key, zone in rows}
