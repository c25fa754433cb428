"""Uploads, problems, readings."""

from readings.models.uploads import Problem, Reading, Upload

__all__ = ["Problem", "Reading", "Upload"]
