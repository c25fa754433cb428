"""What stands in the way of a release, and what should be known before one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from django.db.models import Q
from django.urls import reverse

from campaigns.models import Campaign, Client, Job, Limit, LimitCheck
from campaigns.models.limits import in_force_on
from methods.verdicts import Verdict
from readings.job_kinds import COMPARE_CLOCKS, MOVE_READINGS
from readings.models import Upload
from readings.queries.unfinished import unfinished
from readings.services.clock_questions import OpenClockQuestion, open_questions
from reports.content.record import ReportContent
from reports.job_kinds import EVALUATE
from reports.models import Evaluation, Finding, Report
from reports.services import digests
from reports.services.departures import AgreementStanding, agreement_standing
from reports.services.law_day import law_day
from reports.services.missing import UNFINISHED, lacks, where_to_ask_again
from reports.services.quality.table import failed_of
from reports.services.quality.told import QualityTold

RELEASED = Q(released_at__isnull=False, withdrawn_at__isnull=True)
MOVING = (Job.State.QUEUED, Job.State.RUNNING)


@dataclass(frozen=True)
class Item:
    """One thing to know: a stable code, a sentence, the names it is about, and where to do something about it."""

    code: str
    words: str
    names: tuple[str, ...] = ()
    url: str = ""
    action: str = ""


@dataclass(frozen=True)
class Preparation:
    """``blocking``: a release is refused until these are gone. ``advisory``: it is possible, and these are said."""

    blocking: list[Item] = field(default_factory=list)
    advisory: list[Item] = field(default_factory=list)

    @property
    def ready(self) -> bool:
        return not self.blocking


def prepare(campaign: Campaign) -> Preparation:
    """What is missing before the campaign can be released, and what is worth a look. A constant number of queries."""
    clocks, standing = open_questions(campaign), agreement_standing(campaign)
    blocking = [
        *_judging(campaign),
        *_reading(campaign),
        *_clocks_asked(clocks),
        *_agreement_asked(standing),
        *_nothing_to_tell(campaign),
    ]
    advisory = [
        *_clocks_left(clocks),
        *_agreement_explained(standing),
        *_alerts(campaign),
        *_findings(campaign),
        *_limits(campaign),
        *_client(campaign),
        *_lacking(campaign),
        *_quality(campaign),
    ]
    return Preparation(blocking, advisory)


# --- blocking ---------------------------------------------------------------------------------------------------------


def _judging(campaign: Campaign) -> Iterator[Item]:
    """The findings have to be those of the current inputs."""
    work = reverse("jobs")
    last = Job.objects.filter(kind=EVALUATE, subject_id=campaign.pk).order_by("-created_at", "-pk").first()
    if Job.objects.filter(kind=EVALUATE, subject_id=campaign.pk, state__in=MOVING).exists():
        yield Item(
            "judging", "The campaign is being judged from new inputs. Wait until that is done.", (), work, "Look"
        )
    elif last is not None and last.state == Job.State.FAILED:
        yield Item("judging-failed", "The last judging of this campaign failed.", (last.message,), work, "See why")
    evaluation = Evaluation.objects.filter(campaign=campaign).first()
    if evaluation is not None and evaluation.method != digests.METHOD:
        yield Item(
            "old-method", "The findings come from an older version of the calculation. Judge the campaign again."
        )


def _reading(campaign: Campaign) -> Iterator[Item]:
    """A log that is being read may change every finding."""
    jobs = Job.objects.filter(kind__in=MOVE_READINGS, state__in=MOVING, subject_id__in=campaign.uploads.values("pk"))
    waiting = Upload.objects.filter(pk__in=jobs.values("subject_id")).order_by("filename")
    if names := tuple(waiting.values_list("filename", flat=True)):
        url = reverse("uploads", args=[campaign.key])
        yield Item("reading", "Logs are being read. Wait until that is done.", names, url, "Uploads")
    if logs := unfinished(campaign):
        words = f"{UNFINISHED}: some of their readings may be missing. Have them read again, or withdraw them."
        yield Item("not-read", words, tuple(log.filename for log in logs), where_to_ask_again(logs), "Read again")
    if Job.objects.filter(kind=COMPARE_CLOCKS, subject_id=campaign.pk, state__in=MOVING).exists():
        words = "The logs are being laid on each other, to see whether their clocks agree. Wait until that is done."
        yield Item("comparing", words, (), reverse("jobs"), "Look")


def _clocks_asked(questions: Iterable[OpenClockQuestion]) -> Iterator[Item]:
    for question in questions:
        if question.left is None:
            yield Item(
                "clock-open",
                "A question about a clock is open. Answer it, or say below why it does not stand in the way.",
                (str(question.instrument), *question.words.splitlines()),
                reverse("instrument-clock", args=[question.instrument.key]),
                "Its clock",
            )


def _agreement_asked(standing: AgreementStanding) -> Iterator[Item]:
    if standing.open:
        words = (
            "This is not what was agreed with the client before the visit. Say below why it is released all the same."
        )
        yield Item("agreement-departed", words, tuple(departure.item for departure in standing.departures))


def _nothing_to_tell(campaign: Campaign) -> Iterator[Item]:
    if not campaign.criteria.exists():
        url = reverse("criteria", args=[campaign.key])
        yield Item(
            "no-criteria", "No limit has been chosen, so there is nothing to judge against.", (), url, "Criteria"
        )
    elif not Finding.objects.filter(criterion__campaign=campaign).exists():
        url = reverse("uploads", args=[campaign.key])
        yield Item("no-findings", "No zone has been measured yet, so there is nothing to report.", (), url, "Uploads")


# --- advisory ---------------------------------------------------------------------------------------------------------


def _clocks_left(questions: Iterable[OpenClockQuestion]) -> Iterator[Item]:
    for question in questions:
        if question.left is not None:
            words = "A question about a clock is left open. The report prints it with the reason"
            url = reverse("instrument-clock", args=[question.instrument.key])
            yield Item("clock-left", words, (str(question.instrument), question.left.reason), url, "Its clock")


def _agreement_explained(standing: AgreementStanding) -> Iterator[Item]:
    if standing.departures and standing.explained:
        words = "The report departs from what was agreed. It prints what, and the reason"
        yield Item("agreement-explained", words, (*(d.words for d in standing.departures), standing.explained.reason))


def _alerts(campaign: Campaign) -> Iterator[Item]:
    rows = campaign.alerts.filter(closed_at__isnull=True).order_by("reached_at", "pk")
    if names := tuple(str(alert) for alert in rows):
        url = reverse("alerts", args=[campaign.key])
        yield Item("alert-open", "Alerts that are open. The report prints them as open", names, url, "Alerts")


def _findings(campaign: Campaign) -> Iterator[Item]:
    rows = Finding.objects.filter(criterion__campaign=campaign).select_related("zone", "criterion__limit")
    for verdict, words in (
        (Verdict.UNDECIDED, "Undecided. The report says what would decide it"),
        (Verdict.NOT_COMPARABLE, "Not comparable. The report says why"),
    ):
        names = tuple(f"{place} ({f.criterion.limit.code})" for f in rows for place in _places(f, verdict))
        if names:
            yield Item(verdict.value, words, names)


def _places(finding: Finding, verdict: Verdict) -> Iterator[str]:
    """The zone where it has this verdict. Of what is undecided in a zone of several rooms each room, also where the
    zone has the verdict of another one."""
    rooms = [room.name for room in finding.by_room.rooms if room.verdict == verdict]
    if verdict == Verdict.UNDECIDED and len(finding.by_room.rooms) > 1 and rooms:
        yield from (f"{finding.zone}, {room}" for room in rooms)
    elif finding.verdict == verdict:
        yield str(finding.zone)


def _limits(campaign: Campaign) -> Iterator[Item]:
    seen = LimitCheck.objects.filter(organisation=campaign.site.organisation_id)
    unseen = campaign.criteria.filter(limit__needs_check=True).exclude(limit__in=seen.values("limit"))
    names = tuple(str(criterion) for criterion in unseen.select_related("limit"))
    if names:
        words = "Limits nobody has compared with their document. The report marks them “check against the document”"
        yield Item("unconfirmed", words, names, reverse("criteria", args=[campaign.key]), "Criteria")
    valid = Limit.objects.filter(in_force_on(law_day(campaign)))
    gone = tuple(str(c) for c in campaign.criteria.exclude(limit__in=valid).select_related("limit"))
    if gone:
        yield Item(
            "not-in-force", "Limits that were not in force on the last day of measuring. The report says so", gone
        )


def _client(campaign: Campaign) -> Iterator[Item]:
    if campaign.site.client_id is None:
        url = reverse("site-edit", args=[campaign.site.key])
        yield Item("no-client", "The site has no client, so nobody outside the house will see it.", (), url, "Site")


def _lacking(campaign: Campaign) -> Iterator[Item]:
    for lack in lacks(campaign):
        if lack.what == UNFINISHED:  # it stands in the way, and was said
            continue
        yield Item("lack", lack.what, tuple(lack.names), lack.url, lack.action)


def _quality(campaign: Campaign) -> Iterator[Item]:
    told, url = QualityTold.of(campaign), reverse("quality", args=[campaign.key])
    if failed := tuple(failed_of(told.rows)):
        yield Item("quality", "Quality control failed. The report says so", failed, url, "Quality control")
    if apart := tuple(told.disagreements):
        yield Item("apart", "Two instruments at one point contradict each other. The report says so", apart, url, "See")


# --- revisions --------------------------------------------------------------------------------------------------------


def in_force(campaign: Campaign, client: Client | None = None) -> Report | None:
    """The newest revision that was released, None where it was withdrawn: those before it were superseded by it.
    ``client``: of those released to this one."""
    rows = campaign.reports.filter(released_at__isnull=False)
    newest = (rows.filter(client=client) if client else rows).order_by("-revision").first()
    return newest if newest is not None and newest.released else None


def differs(report: Report | None, content: ReportContent) -> bool:
    """Whether ``content`` says anything else than ``report`` does."""
    return report is None or report.record.unsigned != content
