"""What a campaign still lacks: points, logs, checks. Each is a sentence with a count, the names, and where to act."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db.models import Count, Exists, OuterRef
from django.urls import reverse

from campaigns.links import anchor
from campaigns.models import Agreement, Calibration, Campaign, Channel, ClockCheck, Deployment, FieldCheck
from methods.quantities.substances import SUBSTANCES
from readings.models import Upload
from readings.queries.unfinished import Unfinished, unfinished
from reports.models import AgreementDeparture, Result
from reports.models.findings import TOGETHER
from reports.queries.entered_rows import Entered, EnteredVisit, Log

#: So many names are printed; the rest are a number, and the address leads to all of them.
NAMED = 6
UNFINISHED = "Logs that were not read to their end"


@dataclass(frozen=True)
class Lack:
    """``what``: sentence without the names. ``action``: the words of the link."""

    what: str
    names: Sequence[str]
    url: str
    action: str

    @property
    def shown(self) -> str:
        more = len(self.names) - NAMED
        return ", ".join(self.names[:NAMED]) + (f" and {more} more" if more > 0 else "")


def lacks(campaign: Campaign, entered: Entered | None = None, parameters: Collection[str] | None = None) -> list[Lack]:
    """Everything that is missing, most urgent first. A constant number of queries.

    ``entered`` into the campaign, ``parameters`` of its criteria: where the caller has asked for them already.
    """
    entered = entered or Entered(campaign)
    if parameters is None:
        parameters = set(campaign.criteria.values_list("limit__parameter", flat=True))
    in_time = sorted(entered.visits, key=lambda v: (v.starts_at, v.pk))
    lacking = [
        *_unfinished(campaign),
        *_uploads(campaign, entered.logs),
        *(_silent(campaign, in_time, entered.logs) if parameters else ()),
        *_points(campaign, entered),
        *_still_there(campaign, in_time),
        *_agreement(campaign, entered),
        *_meters(campaign),
        *_checks(in_time, parameters),
        *_clocks(in_time),
    ]
    return [lack for lack in lacking if lack.names]


def _unfinished(campaign: Campaign) -> Iterator[Lack]:
    """Logs whose reading failed for a reason of ours: some of their readings may be stored, and some not. One query."""
    logs = unfinished(campaign)
    yield Lack(UNFINISHED, [log.filename for log in logs], where_to_ask_again(logs), "Read again")


def where_to_ask_again(logs: Sequence[Unfinished]) -> str:
    """The page of the one log, or the list of work."""
    if len(logs) == 1 and not logs[0].withdrawn:
        return reverse("upload", args=[logs[0].key])
    return reverse("jobs")


def _uploads(campaign: Campaign, logs: Sequence[Log]) -> Iterator[Lack]:
    for state, shown, what, action in (
        (Upload.State.ATTENTION, "waiting", "Logs wait for a decision", "Decide"),
        (Upload.State.UNREADABLE, "unreadable", "Logs could not be read", "See why"),
    ):
        those = [log for log in logs if log.state == state]
        all_of_them = f"{reverse('uploads', args=[campaign.key])}?show={shown}"
        url = reverse("upload", args=[those[0].key]) if len(those) == 1 else all_of_them
        yield Lack(what, [log.filename for log in those], url, action)


def _silent(campaign: Campaign, visits: Sequence[EnteredVisit], logs: Sequence[Log]) -> Iterator[Lack]:
    """Visits of which no reading was judged: the log has not come, or its clock puts it somewhere else."""
    of_it = Result.objects.filter(deployment=OuterRef("pk")).order_by()
    unjudged = set(campaign.deployments.filter(~Exists(of_it)).order_by().values_list("pk", flat=True))
    silent = [visit for visit in visits if visit.ends_at and visit.pk in unjudged]
    if silent:  # a result of several visits at one point is stored with the first; its trace names the others
        there = Result.objects.filter(criterion__campaign=campaign, point__in={visit.point_id for visit in silent})
        joined = there.order_by().values_list(TOGETHER, flat=True)
        others = {key for keys in joined for key in keys or ()}
        keys = dict(Deployment.objects.filter(pk__in=[visit.pk for visit in silent]).values_list("pk", "key"))
        silent = [visit for visit in silent if str(keys[visit.pk]) not in others]
    yield Lack("Visits without readings", [str(visit) for visit in silent], *_where_to_look(campaign, silent, logs))


def _where_to_look(campaign: Campaign, silent: Sequence[EnteredVisit], logs: Sequence[Log]) -> tuple[str, str]:
    """To the timeline of the first instrument whose log has come; where none has, to where logs are handed in."""
    logged = {log.instrument_id for log in logs}
    for visit in silent:
        if visit.instrument_id in logged:
            timeline = reverse("timeline", args=[campaign.key])
            return f"{timeline}?instrument={visit.instrument_key}", "See where its log lies"
    return reverse("uploads", args=[campaign.key]), "Upload their logs"


def _points(campaign: Campaign, entered: Entered) -> Iterator[Lack]:
    visited = {visit.point_id for visit in entered.visits}
    names = [planned.place for planned in entered.planned if planned.point_id not in visited and not planned.sampled]
    yield Lack("Planned points not measured", names, reverse("deployments", args=[campaign.key]), "Deployments")


def _still_there(campaign: Campaign, visits: Iterable[EnteredVisit]) -> Iterator[Lack]:
    here = [visit for visit in visits if visit.ends_at is None]
    url = reverse("deployments", args=[campaign.key])
    if here:
        url += f"#{anchor(campaign.deployments.get(pk=here[0].pk))}"
    yield Lack("Instruments still in place", [str(visit) for visit in here], url, "Enter the end")


def _agreement(campaign: Campaign, entered: Entered) -> Iterator[Lack]:
    """Measuring has begun, nothing is agreed with the client, and nobody said why. Two queries at most."""
    accepted = any(row.state == Agreement.State.ACCEPTED for row in entered.agreements)
    if entered.visits and not accepted and not AgreementDeparture.objects.filter(campaign=campaign).exists():
        latest = entered.agreements[0] if entered.agreements else None
        name = f"version {latest.version}: {Agreement.State(latest.state).label}" if latest else "no version yet"
        url = reverse("agreement", args=[campaign.key])
        yield Lack("Measuring began without an agreement that the client accepted", [name], url, "The agreement")


#: What is said of results by the meter behind them, and what to do about it.
METERS = (
    (Result.Evidence.FAILED, "Results that rest on a failed check: an indication only", "Measure again, or accept it"),
    (Result.Evidence.TYPE_DATA, "Results of meters that nobody calibrated or checked: an indication only", "Check it"),
    (Result.Evidence.ACCEPTED, "Results that rest on a failed check that was accepted", "See why"),
)


def _meters(campaign: Campaign) -> Iterator[Lack]:
    """How many results by instrument, most first. One query."""
    rows = Result.objects.filter(criterion__campaign=campaign, deployment__isnull=False).exclude(evidence="")
    grouped = rows.order_by().values_list("evidence", "deployment__instrument__name", "deployment__instrument__key")
    counted = sorted(grouped.annotate(Count("pk")), key=lambda row: (-row[3], row[1]))
    for evidence, what, action in METERS:
        those = [(name, key, count) for said, name, key, count in counted if said == evidence]
        names = [f"{name} ({count} result{'s' if count > 1 else ''})" for name, _, count in those]
        yield Lack(what, names, reverse("instrument-fitness", args=[those[0][1]]) if those else "", action)


# --- papers and checks of the instruments used ------------------------------------------------------------------------


@dataclass
class _Channel:
    """A channel in use. ``calibrations``: (date, due); ``zeros``: when its zero was checked."""

    name: str
    needs_zero: bool
    last_use: datetime
    calibrations: list[tuple[date, date]] = field(default_factory=list)
    zeros: list[datetime] = field(default_factory=list)

    @property
    def calibrated(self) -> tuple[date, date] | None:
        """The calibration in force at the last use."""
        return max((c for c in self.calibrations if c[0] <= self.last_use.date()), default=None)

    @property
    def last_zero(self) -> datetime | None:
        """The latest zero check since the calibration in force: the meter was adjusted at each.

        Method: docs/methods/correction.md.
        """
        calibrated = self.calibrated
        return max((at for at in self.zeros if calibrated is None or calibrated[0] <= at.date()), default=None)


def _checks(visits: Sequence[EnteredVisit], parameters: Collection[str]) -> Iterator[Lack]:
    overdue, unchecked, held = [], [], []
    for channel in _channels(visits, parameters):
        calibrated, zero, end = channel.calibrated, channel.last_zero, channel.last_use
        if calibrated is None or calibrated[1] <= end.date():
            overdue.append(channel.name)
        if channel.needs_zero and zero is None:
            unchecked.append(channel.name)
        elif zero is not None and zero < end:
            held.append(channel.name)
    instruments = {visit.instrument_key for visit in visits}
    url = reverse("instrument", args=list(instruments)) if len(instruments) == 1 else reverse("instruments")
    yield Lack("Calibration overdue, or none on record", overdue, url, "Instruments")
    yield Lack("No zero check since the calibration", unchecked, url, "Enter a check")
    yield Lack("No zero check after the last visit, so the last one is held", held, url, "Enter a check")


def _clocks(visits: Sequence[EnteredVisit]) -> Iterator[Lack]:
    """Instruments of which nobody ever noted what their clock showed. One query."""
    used = {visit.instrument_id: visit for visit in visits}
    checked = set(ClockCheck.objects.filter(instrument__in=used).order_by().values_list("instrument", flat=True))
    unchecked = sorted((visit for pk, visit in used.items() if pk not in checked), key=lambda v: v.instrument)
    url = reverse("instruments")
    if len(unchecked) == 1:
        url = reverse("instrument-clock", args=[unchecked[0].instrument_key])
    yield Lack("No clock check was entered", [visit.instrument for visit in unchecked], url, "Enter a check")


def _channels(visits: Sequence[EnteredVisit], parameters: Collection[str]) -> list[_Channel]:
    """Channels for ``parameters`` of the instruments used, in order of name. Three queries."""
    last_use: dict[int, datetime] = {}
    for visit in visits:
        end = visit.ends_at or visit.starts_at
        last_use[visit.instrument_id] = max(end, last_use.get(visit.instrument_id, end))
    rows = Channel.objects.filter(instrument__in=last_use, spec__parameter__in=parameters)
    rows = rows.order_by("instrument__name", "instrument", "spec__parameter")
    channels = {
        pk: _Channel(
            f"{name} ({SUBSTANCES[parameter].name.lower()})", SUBSTANCES[parameter].zero_check, last_use[instrument]
        )
        for pk, instrument, name, parameter in rows.values_list(
            "pk", "instrument", "instrument__name", "spec__parameter"
        )
    }
    calibrations = Calibration.objects.filter(channel__in=channels).order_by()
    for channel, day, due in calibrations.values_list("channel", "date", "due"):
        channels[channel].calibrations.append((day, due))
    zeros = FieldCheck.objects.filter(channel__in=channels, kind=FieldCheck.Kind.ZERO).order_by()
    for channel, at in zeros.values_list("channel", "at"):
        channels[channel].zeros.append(at)
    return list(channels.values())
