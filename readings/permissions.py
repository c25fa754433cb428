"""Who may reach uploads and readings."""

from __future__ import annotations

from django.db.models import Model

from campaigns.access import CONSULTANTS, NOBODY, STAFF, AccessRule
from campaigns.models import TokenScope
from readings.models import (
    Alert,
    AlertNotice,
    AsideReading,
    ClockLag,
    ClockQuestionLeft,
    Envelope,
    LookFirst,
    Problem,
    Reading,
    SavedLayout,
    SettingAside,
    TimelineStep,
    Upload,
)

CAMPAIGN, CHANNEL = "campaign__site__organisation", "channel__instrument__organisation"

RULES: dict[type[Model], AccessRule] = {
    Upload: AccessRule(CAMPAIGN, scope=TokenScope.CAMPAIGNS, change=STAFF, add=STAFF),
    Problem: AccessRule(f"upload__{CAMPAIGN}", scope=TokenScope.CAMPAIGNS, change=NOBODY, add=NOBODY),
    Reading: AccessRule(CHANNEL, scope=TokenScope.READINGS, change=NOBODY, add=NOBODY),
    AsideReading: AccessRule(CHANNEL, change=NOBODY, add=NOBODY),
    SettingAside: AccessRule("organisation"),
    Envelope: AccessRule(CHANNEL, scope=TokenScope.READINGS, change=NOBODY, add=NOBODY),
    SavedLayout: AccessRule("organisation", change=STAFF, add=STAFF, remove=CONSULTANTS),
    LookFirst: AccessRule("organisation"),
    ClockLag: AccessRule(CAMPAIGN, change=STAFF, add=NOBODY),
    ClockQuestionLeft: AccessRule(CAMPAIGN),
    Alert: AccessRule(CAMPAIGN, change=STAFF, add=NOBODY),
    AlertNotice: AccessRule(f"alert__{CAMPAIGN}", change=NOBODY, add=NOBODY),
    TimelineStep: AccessRule(CAMPAIGN, change=STAFF, add=STAFF),
}
