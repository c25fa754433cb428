"""Which rows are held while something is written, and in which order.

Whoever holds several takes them in this order, and all instruments at once: organisation, campaign, instruments by
their ids, one row, an upload; jobs last of all (``records.all_or_nothing``). Two who keep to it never wait for each
other. Rows are held until the transaction ends. SQLite has one writer at a time, so there it is the transaction itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.core.exceptions import ValidationError
from django.db.models import Model

from campaigns.models import Campaign, Instrument, Organisation
from campaigns.services.integrity import GONE
from campaigns.services.records import all_or_nothing

_held: ContextVar[frozenset[int]] = ContextVar("instruments_held", default=frozenset())


@contextmanager
def instruments_held(model: type[Model], *instrument_ids: int) -> Iterator[None]:
    """One transaction in which nobody else says where these instruments stood or what their clocks showed.

    Two who move deployments of one instrument into each other would each wait for what the other has changed, which
    PostgreSQL ends with an error for one of them. Inside, the same can be asked for again and is part of the whole;
    asking for another instrument there is refused, because it would come out of order.
    model: of what is written, in whose words refusals are raised. Raises ValidationError; then nothing has changed.
    """
    wanted, held = frozenset(instrument_ids), _held.get()
    if held and not wanted <= held:
        raise RuntimeError("All instruments are held at once, or two could wait for each other.")
    with all_or_nothing(model, savepoint=not held):
        if not held:
            rows = Instrument.objects.filter(pk__in=wanted).select_for_update(no_key=True).order_by("pk")
            if len(rows.values_list("pk")) < len(wanted):
                raise ValidationError(GONE)
        token = _held.set(held or wanted)
        try:
            yield
        finally:
            _held.reset(token)


def hold_campaign(campaign: Campaign) -> None:
    """Plan and criteria are chosen by one person at a time: two at once would both insert what is missing."""
    if not Campaign.objects.select_for_update().filter(pk=campaign.pk).values_list("pk"):
        raise ValidationError(GONE)


def hold_organisation(organisation_id: int) -> None:
    """Roles are given by one person at a time: two consultants who remove each other come one after the other."""
    if not Organisation.objects.select_for_update().filter(pk=organisation_id).values_list("pk"):
        raise ValidationError(GONE)
