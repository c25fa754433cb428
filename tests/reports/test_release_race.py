"""Two people sign the same campaign at the same moment: there is one revision, and the other one is told."""

from __future__ import annotations

from threading import Barrier, Thread

import pytest
from django.db import connection

from campaigns import models as m
from campaigns.services.limits_library import synchronise
from reports.models import Report
from reports.services.release import NotReleased, sign_and_release
from tests import factories as make
from tests.reports.measured import house
from tests.worlds import member

PEOPLE = 4


@pytest.mark.django_db(transaction=True)
def test_signing_at_the_same_moment_gives_one_revision() -> None:
    synchronise()  # an earlier test of this kind emptied the tables
    site = make.SiteFactory()
    campaign = house(site).campaign
    people = [member(site.organisation, m.Role.CONSULTANT, f"c{n}@fanlight.example") for n in range(PEOPLE)]
    m.User.objects.update(last_name="Lintel")
    people = list(m.User.objects.filter(pk__in=[by.pk for by in people]))
    start, refused, failed = Barrier(PEOPLE), [], []

    def sign(by: m.User) -> None:
        start.wait()
        try:
            sign_and_release(m.Campaign.objects.get(pk=campaign.pk), by)
        except NotReleased as reason:
            refused.append({item.code for item in reason.items})
        except Exception as error:  # anything else is what this test looks for
            failed.append(error)
        finally:
            connection.close()

    threads = [Thread(target=sign, args=(by,)) for by in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert failed == []
    assert Report.objects.values_list("revision", flat=True).get() == 1
    assert refused == [{"same"}] * (PEOPLE - 1)
    assert m.Job.objects.filter(kind="make-pdf").count() == 1
