"""Who may reach uploads and readings."""

from __future__ import annotations

from campaigns.access import NOBODY, STAFF, Door
from campaigns.access import register as open_door
from campaigns.models import Scope
from readings.models import Envelope, LookFirst, Problem, Reading, SavedLayout, TimelineStep, Upload


def register() -> None:
    open_door(Upload, Door("campaign__site__organisation", scope=Scope.CAMPAIGNS, change=STAFF, add=STAFF))
    open_door(Problem, Door("upload__campaign__site__organisation", scope=Scope.CAMPAIGNS, change=NOBODY, add=NOBODY))
    open_door(Reading, Door("channel__instrument__organisation", scope=Scope.READINGS, change=NOBODY, add=NOBODY))
    open_door(Envelope, Door("channel__instrument__organisation", scope=Scope.READINGS, change=NOBODY, add=NOBODY))
    open_door(SavedLayout, Door("organisation", change=STAFF, add=STAFF))
    open_door(LookFirst, Door("organisation"))
    open_door(TimelineStep, Door("campaign__site__organisation", change=STAFF, add=STAFF))
