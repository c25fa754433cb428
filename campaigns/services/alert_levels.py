"""Alert levels of a campaign: chosen, changed, switched on and off; never deleted. All raise ValidationError; then
nothing has changed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet

from campaigns.models import AlertLevel, Campaign, Limit, Membership, Role, User
from campaigns.services.records import all_or_nothing, check, current, save_changed
from methods.alerts import AlertAveraging, LevelDefinition, load_levels
from methods.limits.model import Averaging as LimitAveraging

STAFF_ROLES = (Role.CONSULTANT, Role.FIELD)
UNKNOWN = "There is no such level to choose."
NOT_HERE = "Only people of the house, and of the client of this site, can be told."


def may_be_told(campaign: Campaign) -> QuerySet[Membership]:
    """People with a role in the organisation, and readers of the site's client."""
    site = campaign.site
    staff, theirs = Q(role__in=STAFF_ROLES), Q(role=Role.CLIENT, client=site.client_id)
    rows = Membership.objects.filter(staff | theirs if site.client_id else staff, organisation=site.organisation_id)
    return rows.filter(user__is_active=True).select_related("user").order_by("user__email")


def make(campaign: Campaign, people: Iterable[Membership] = (), **entered: Any) -> AlertLevel:
    """A level of the campaign's own; it is on at once."""
    return _with_people(AlertLevel(campaign=campaign, **entered), people)


def change(row: AlertLevel, people: Iterable[Membership] | None = None, **entered: Any) -> AlertLevel:
    """Set what is given. Alerts raised before keep the words of the level they were raised by."""
    with all_or_nothing(AlertLevel):
        stands = current(row)
        for name, value in entered.items():
            setattr(stands, name, value)
        return _with_people(stands, stands.people.select_related("user") if people is None else people)


def switch(row: AlertLevel, *, on: bool) -> AlertLevel:
    """Off: it raises no further alert; those raised stay."""
    return save_changed(row, is_on=on)


@dataclass(frozen=True)
class OfferedLevel:
    """A level that can be chosen with one click. ``key``: what is sent for it; ``chosen``: it is there already."""

    key: str
    parameter: str
    words: str
    advice: str
    source: str
    from_memory: bool
    chosen: bool


def offered(campaign: Campaign) -> list[OfferedLevel]:
    """The levels of the file, then the campaign's own ceilings. Two queries."""
    held = {_identity(level) for level in campaign.alert_levels.all()}
    rows = [(code, _fields(level)) for code, level in load_levels().items()]
    rows += [(f"limit:{limit.code}", _ceiling_fields(limit)) for limit in _ceilings(campaign)]
    out = []
    for key, fields in rows:
        level = AlertLevel(**fields)
        out.append(
            OfferedLevel(
                key, level.parameter_name, level.words, level.advice, level.source, level.confidence == "M",
                _identity(level) in held,
            )
        )  # fmt: skip
    return out


def choose(campaign: Campaign, key: str, by: User) -> AlertLevel:
    """Take an offered level as it stands; whoever chooses it is told, until somebody says otherwise."""
    if key.startswith("limit:"):
        fields = next((_ceiling_fields(c) for c in _ceilings(campaign) if f"limit:{c.code}" == key), None)
    else:
        fields = _fields(load_levels()[key]) if key in load_levels() else None
    if fields is None:
        raise ValidationError(UNKNOWN)
    return make(campaign, may_be_told(campaign).filter(user=by), **fields)


def level_words(campaign: Campaign) -> dict[str, list[str]]:
    """By parameter, how the levels that are on are named in a caution. One query."""
    words: dict[str, list[str]] = {}
    for level in campaign.alert_levels.filter(is_on=True).order_by("value", "pk"):
        words.setdefault(level.parameter, []).append(level.words)
    return words


def _fields(level: LevelDefinition) -> dict[str, Any]:
    return {
        "code": level.code,
        "parameter": level.parameter,
        "value": level.rule.value,
        "unit": level.unit,
        "averaging": level.rule.averaging.value,
        "minutes": int(level.rule.minutes),
        "reference_temperature_c": level.temperature_c,
        "advice": level.advice,
        "source": level.source,
        "confidence": level.confidence,
    }


def _ceilings(campaign: Campaign) -> list[Limit]:
    criteria = campaign.criteria.filter(limit__averaging=LimitAveraging.CEILING.value, limit__value__isnull=False)
    return [criterion.limit for criterion in criteria.select_related("limit")]


def _ceiling_fields(limit: Limit) -> dict[str, Any]:
    temperature = limit.reference_temperature_c
    return {
        "code": limit.code[:40],
        "parameter": limit.parameter,
        "value": float(limit.value or 0),
        "unit": limit.unit,
        "averaging": AlertAveraging.ANY.value,
        "minutes": 0,
        "reference_temperature_c": None if temperature is None else float(temperature),
        "source": f"ceiling of this campaign: {limit.body}, {limit.document}"[:300],
    }


def _identity(level: AlertLevel) -> tuple[Any, ...]:
    return level.parameter, level.value, level.unit, level.averaging, level.minutes


def _with_people(row: AlertLevel, people: Iterable[Membership]) -> AlertLevel:
    """Saved together with whom it tells, who are also kept in words for the history."""
    wanted = {person.pk for person in people}
    with all_or_nothing(AlertLevel):
        allowed = {person.pk: person for person in may_be_told(row.campaign)}
        if not wanted <= allowed.keys():
            raise ValidationError({"people": NOT_HERE})
        check(row)
        names = [f"{person.user} ({person.user.email})" for pk, person in allowed.items() if pk in wanted]
        row.told = "; ".join([*names, *row.addresses.split()])
        row.save()
        row.people.set(wanted)
    return row
