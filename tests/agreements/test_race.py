"""A consultant offers a newer version while the client accepts the older one: one of the two is told."""

from __future__ import annotations

from collections.abc import Callable
from threading import Barrier, Thread

import pytest
from django.db import connection

from campaigns import models as m
from campaigns.models import Agreement
from campaigns.services import agreements
from campaigns.services.limits_library import synchronise
from tests import factories as make
from tests.agreeing import WORDS, client_of, consultant_of, offered
from tests.database import unguarded

State = Agreement.State


@pytest.mark.django_db(transaction=True)
def test_what_is_being_replaced_is_accepted_before_or_not_at_all() -> None:
    synchronise()  # an earlier test of this kind emptied the tables
    campaign = make.CampaignFactory()
    make.CriterionFactory(campaign=campaign)
    room = make.RoomFactory(zone__floor__building__site=campaign.site)
    m.PlannedPoint.objects.create(campaign=campaign, point=make.PointFactory(room=room))
    consultant, client = consultant_of(campaign), client_of(campaign)
    for _ in range(5):
        _race(offered(campaign), agreements.draft(campaign, consultant, **WORDS), consultant, client)
        with unguarded("campaigns_agreement"):
            Agreement.objects.all().delete()


def _race(first: Agreement, second: Agreement, consultant: m.User, client: m.User) -> None:
    start, told, failed = Barrier(2), [], []

    def at_once(deed: Callable[[], Agreement]) -> None:
        start.wait()
        try:
            deed()
        except agreements.OvertakenVersion as refused:
            told.append(refused.messages[0])
        except Exception as error:  # anything else is what this test looks for
            failed.append(error)
        finally:
            connection.close()

    deeds: tuple[Callable[[], Agreement], ...] = (
        lambda: agreements.accept(first, client, seen=first.digest),
        lambda: agreements.offer(second, consultant),
    )
    threads = [Thread(target=at_once, args=(deed,)) for deed in deeds]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert failed == []
    states = dict(Agreement.objects.values_list("pk", "state"))
    assert states[second.pk] == State.OFFERED
    assert (states[first.pk], told) in ((State.ACCEPTED, []), (State.OVERTAKEN, [agreements.OVERTAKEN]))
