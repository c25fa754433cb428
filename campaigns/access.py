"""The one door for every query: what may this person or token see or change?

Every model that people reach is registered here with the path from it to its organisation and the roles that may
see and change it. A model that is not registered cannot be reached at all, and what may not be seen does not exist:
strangers get 404, never 403, so that a guessed key tells nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import Model, Q, QuerySet
from django.http import Http404

from campaigns.models import ApiToken, Membership, Organisation, Role, TokenScope, User

M = TypeVar("M", bound=Model)

STAFF = frozenset({Role.CONSULTANT, Role.FIELD})
CONSULTANTS = frozenset({Role.CONSULTANT})
NOBODY: frozenset[Role] = frozenset()


@dataclass(frozen=True)
class AccessRule:
    """Who may reach a model.

    organisation: lookup path from the model to its organisation ("" for the organisation itself).
    see, change, add: roles that may. remove: roles that may delete; None: those that may change.
    scope: the token scope that may read it; None: no token.
    client: for people of a client, the filter that leaves what was released to them; None: nothing.
    common: rows that belong to nobody and that everyone with a role in ``see`` may read, such as published limits.
    """

    organisation: str
    see: frozenset[Role] = STAFF
    change: frozenset[Role] = CONSULTANTS
    add: frozenset[Role] = CONSULTANTS
    remove: frozenset[Role] | None = None
    scope: TokenScope | None = None
    client: Callable[[Iterable[int]], Q] | None = None
    common: Q | None = None


_rules: dict[type[Model], AccessRule] = {}


def register(rules: Mapping[type[Model], AccessRule]) -> None:
    """What an app's ``permissions`` say of its models."""
    _rules.update(rules)


def registered() -> dict[type[Model], AccessRule]:
    return dict(_rules)


def visible(principal: Any, model: type[M]) -> QuerySet[M]:
    """All rows of ``model`` that ``principal`` may see. Nothing for an unknown model or a nobody."""
    return _rows(principal, model, "see")


def changeable(principal: Any, model: type[M]) -> QuerySet[M]:
    """All rows of ``model`` that ``principal`` may change."""
    return _rows(principal, model, "change")


def find(principal: Any, model: type[M], key: UUID, *, act: str = "see", related: Iterable[str] = ()) -> M:
    """The row with this key, or 404: not there, not theirs and not allowed look the same.

    ``related`` names foreign keys to fetch in the same query.
    """
    rows = _rows(principal, model, act)
    row = (rows.select_related(*related) if related else rows).filter(key=key).first()
    if row is None:
        raise Http404
    return row


def may_add(principal: Any, model: type[Model], organisation_id: int) -> bool:
    """Whether ``principal`` may add rows of ``model`` to this organisation."""
    rule = _rules.get(model)
    return rule is not None and organisation_id in organisations_of(principal, rule.add)


def may_change(principal: Any, row: Model) -> bool:
    return changeable(principal, type(row)).filter(pk=row.pk).exists()


def may_remove(principal: Any, model: type[Model], organisation_id: int) -> bool:
    """Whether ``principal`` may delete rows of ``model`` of this organisation."""
    rule = _rules.get(model)
    return rule is not None and organisation_id in organisations_of(principal, _roles(rule, "remove"))


def organisations_of(principal: Any, roles: Iterable[Role]) -> set[int]:
    """Ids of the organisations in which a person has one of ``roles``."""
    if not isinstance(principal, User) or not principal.is_active:
        return set()
    return {m.organisation_id for m in memberships(principal) if m.role in set(roles)}


def memberships(user: User) -> list[Membership]:
    """The person's roles, asked for once per request."""
    if not hasattr(user, "_memberships"):
        user._memberships = list(user.memberships.all())  # type: ignore[attr-defined]
    held: list[Membership] = user._memberships  # type: ignore[attr-defined]
    return held


def working_organisations(user: User) -> QuerySet[Organisation]:
    """Organisations the person plans for: where new sites and instruments may go."""
    return Organisation.objects.filter(pk__in=organisations_of(user, CONSULTANTS))


def _rows(principal: Any, model: type[M], act: str) -> QuerySet[M]:
    rows = model._default_manager.all()
    rule = _rules.get(model)
    if rule is None:
        return rows.none()
    if isinstance(principal, ApiToken):
        reads = act == "see" and not principal.expired and rule.scope in principal.scopes
        return rows.filter(_in(rule, {principal.organisation_id})) if reads else rows.none()
    if not isinstance(principal, User) or not principal.is_active:
        return rows.none()
    organisations = organisations_of(principal, _roles(rule, act))
    allowed = _in(rule, organisations)
    if act == "see" and rule.common is not None and organisations:
        allowed |= rule.common
    if act == "see" and rule.client is not None:
        clients = [m.client_id for m in memberships(principal) if m.role == Role.CLIENT and m.client_id]
        if clients:
            allowed |= rule.client(clients)
    return rows.filter(allowed)


def _roles(rule: AccessRule, act: str) -> frozenset[Role]:
    roles: frozenset[Role] | None = getattr(rule, act)
    return rule.change if roles is None else roles


def _in(rule: AccessRule, organisations: set[int]) -> Q:
    path = f"{rule.organisation}__in" if rule.organisation else "pk__in"
    return Q(**{path: organisations})
