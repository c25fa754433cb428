"""Uploads, problems, readings; what was set aside; layouts kept for the next file; steps on the timeline."""

from readings.models.aside import AsideReading, SettingAside
from readings.models.envelopes import Envelope
from readings.models.layouts import LookFirst, SavedLayout
from readings.models.timeline_steps import TimelineStep
from readings.models.uploads import Problem, Reading, Upload

__all__ = [
    "AsideReading",
    "Envelope",
    "LookFirst",
    "Problem",
    "Reading",
    "SavedLayout",
    "SettingAside",
    "TimelineStep",
    "Upload",
]
