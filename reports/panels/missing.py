"""What a campaign still lacks: points, logs, checks. Each is a sentence with a count, the names, and where to act."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Prefetch, Q, QuerySet
from django.urls import reverse

from campaigns.models import Calibration, Campaign, Channel, Deployment, FieldCheck, Instrument
from campaigns.views.where import anchor
from readings.models import Upload
from readings.queries.chains import NO_ZERO
from reports.models import Result

#: So many names are printed; the rest are a number, and the address leads to all of them.
NAMED = 6


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


def lacks(campaign: Campaign) -> list[Lack]:
    """Everything that is missing, most urgent first. A constant number of queries."""
    parameters = set(campaign.criteria.values_list("limit__parameter", flat=True))
    deployments = list(campaign.deployments.select_related("point__room", "instrument"))
    found = [
        *_uploads(campaign),
        *(_silent(campaign, deployments) if parameters else ()),
        *_points(campaign, deployments),
        *_still_there(campaign, deployments),
        *_checks(deployments, parameters),
    ]
    return [lack for lack in found if lack.names]


def _uploads(campaign: Campaign) -> Iterator[Lack]:
    open_states = Q(state=Upload.State.ATTENTION) | Q(state=Upload.State.UNREADABLE)
    rows = list(campaign.uploads.filter(open_states).order_by("created_at", "id"))
    for state, what, action in (
        (Upload.State.ATTENTION, "Logs wait for a decision", "Decide"),
        (Upload.State.UNREADABLE, "Logs could not be read", "See why"),
    ):
        those = [row for row in rows if row.state == state]
        url = reverse("upload", args=[those[0].key]) if len(those) == 1 else reverse("uploads", args=[campaign.key])
        yield Lack(what, [row.filename for row in those], url, action)


def _silent(campaign: Campaign, deployments: Iterable[Deployment]) -> Iterator[Lack]:
    """Visits of which no reading was judged: the log has not come, or its clock puts it somewhere else."""
    results = Result.objects.filter(criterion__campaign=campaign).order_by().distinct()  # by many criteria, the same
    together = results.values_list("deployment__key", "trace__deployments")
    judged = {key for first, keys in together for key in (str(first), *(keys or ()))}
    silent = [d for d in deployments if d.ends_at and str(d.key) not in judged]
    yield Lack("Visits without readings", [str(d) for d in silent], *_where_to_look(campaign, silent))


def _where_to_look(campaign: Campaign, silent: Sequence[Deployment]) -> tuple[str, str]:
    """To the timeline of the first instrument whose log has come; where none has, to where logs are handed in."""
    logged = set(campaign.uploads.values_list("instrument_id", flat=True)) if silent else set()
    for deployment in silent:
        if deployment.instrument_id in logged:
            timeline = reverse("timeline", args=[campaign.key])
            return f"{timeline}?instrument={deployment.instrument.key}", "See where its log lies"
    return reverse("uploads", args=[campaign.key]), "Upload their logs"


def _points(campaign: Campaign, deployments: Iterable[Deployment]) -> Iterator[Lack]:
    visited = {d.point_id for d in deployments}
    planned = campaign.planned_points.select_related("point__room")
    names = [str(p.point) for p in planned if p.point_id not in visited]
    yield Lack("Planned points not measured", names, reverse("deployments", args=[campaign.key]), "Deployments")


def _still_there(campaign: Campaign, deployments: Iterable[Deployment]) -> Iterator[Lack]:
    here = [d for d in deployments if d.ends_at is None]
    url = reverse("deployments", args=[campaign.key]) + (f"#{anchor(here[0])}" if here else "")
    yield Lack("Instruments still in place", [str(d) for d in here], url, "Enter the end")


# --- papers and checks of the instruments used ------------------------------------------------------------------------


def _checks(deployments: Sequence[Deployment], parameters: Collection[str]) -> Iterator[Lack]:
    last_use: dict[int, datetime] = {}
    for d in deployments:
        end = d.ends_at or d.starts_at
        last_use[d.instrument_id] = max(end, last_use.get(d.instrument_id, end))
    channels_of = Prefetch("channels", _channels(parameters))
    instruments = list(Instrument.objects.filter(pk__in=last_use).prefetch_related(channels_of))
    overdue, unchecked, held = [], [], []
    for instrument in instruments:
        end = last_use[instrument.pk]
        for channel in instrument.channels.all():
            calibration = _calibrated(channel.calibrations.all(), end.date())
            if calibration is None or calibration.due <= end.date():
                overdue.append(_named(channel))
            zero = _last_zero(channel, calibration)
            if channel.spec.parameter not in NO_ZERO and zero is None:
                unchecked.append(_named(channel))
            elif zero is not None and zero < end:
                held.append(_named(channel))
    url = reverse("instruments")
    if len(instruments) == 1:
        url = reverse("instrument", args=[instruments[0].key])
    yield Lack("Calibration overdue, or none on record", overdue, url, "Instruments")
    yield Lack("No zero check since the calibration", unchecked, url, "Enter a check")
    yield Lack("No zero check after the last visit, so the last one is held", held, url, "Enter a check")


def _channels(parameters: Collection[str]) -> QuerySet[Channel]:
    zeros = FieldCheck.objects.filter(kind=FieldCheck.Kind.ZERO)
    return (
        Channel.objects.filter(spec__parameter__in=parameters)
        .select_related("spec", "instrument")
        .prefetch_related("calibrations", Prefetch("field_checks", zeros))
    )


def _named(channel: Channel) -> str:
    return f"{channel.instrument} ({channel.spec.get_parameter_display().lower()})"


def _calibrated(calibrations: Iterable[Calibration], day: date) -> Calibration | None:
    """The calibration in force on ``day``."""
    return max((c for c in calibrations if c.date <= day), key=lambda c: c.date, default=None)


def _last_zero(channel: Channel, calibration: Calibration | None) -> datetime | None:
    """The latest zero check that speaks for the calibration in force: the meter was adjusted at each (METHODS M5)."""
    times = [check.at for check in channel.field_checks.all()]
    return max((at for at in times if calibration is None or calibration.date <= at.date()), default=None)
