"""Uploads, problems, readings; alerts; what was set aside; clock questions; layouts kept; steps on the timeline."""

from readings.models import ranges  # noqa: F401 - binds the columns
from readings.models.alerts import Alert, AlertNotice
from readings.models.aside import AsideReading, SettingAside
from readings.models.clock_questions import ClockLag, ClockQuestionLeft
from readings.models.envelopes import Envelope
from readings.models.layouts import LookFirst, SavedLayout
from readings.models.timeline_steps import TimelineStep
from readings.models.uploads import Problem, Reading, Upload

__all__ = [
    "Alert",
    "AlertNotice",
    "AsideReading",
    "ClockLag",
    "ClockQuestionLeft",
    "Envelope",
    "LookFirst",
    "Problem",
    "Reading",
    "SavedLayout",
    "SettingAside",
    "TimelineStep",
    "Upload",
]
