"""Uploads, problems, readings; layouts kept for the next file."""

from readings.models.layouts import LookFirst, SavedLayout
from readings.models.uploads import Problem, Reading, Upload

__all__ = ["LookFirst", "Problem", "Reading", "SavedLayout", "Upload"]
