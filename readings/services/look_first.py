"""When people of an organisation look at a file before anything of it is stored."""

from __future__ import annotations

from campaigns.models import Organisation
from campaigns.services.locks import hold_organisation
from campaigns.services.records import all_or_nothing, check
from readings.models import LookFirst


def set_rule(organisation: Organisation, when: str) -> LookFirst:
    """Make ``when``, one of ``LookFirst.When``, the rule for files that are handed in from now on.

    Holds the organisation: it has one rule, and two people may set it for the first time. Raises ValidationError.
    """
    with all_or_nothing(LookFirst):
        hold_organisation(organisation.pk)
        row = LookFirst.objects.filter(organisation=organisation).first() or LookFirst(organisation=organisation)
        row.when = when
        check(row)
        row.save()
    return row
