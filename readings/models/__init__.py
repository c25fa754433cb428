"""Uploads, problems, readings; layouts kept for the next file; steps on the timeline."""

from readings.models.envelopes import Envelope
from readings.models.layouts import LookFirst, SavedLayout
from readings.models.timeline_steps import TimelineStep
from readings.models.uploads import Problem, Reading, Upload

__all__ = ["Envelope", "LookFirst", "Problem", "Reading", "SavedLayout", "TimelineStep", "Upload"]
