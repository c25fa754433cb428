"""Figures as plain plotly dicts, coloured by the roles of ``static/charts.js``, and the arithmetic of drawing. Pure."""

from reports.figures.budget import budget_bars
from reports.figures.decimate import MOST_POINTS, extremes, with_gaps
from reports.figures.limits import LimitMark, limit_axis
from reports.figures.section import spans
from reports.figures.series import Course, LimitLine, Stay, Worst, time_series

__all__ = [
    "MOST_POINTS",
    "Course",
    "LimitLine",
    "LimitMark",
    "Stay",
    "Worst",
    "budget_bars",
    "extremes",
    "limit_axis",
    "spans",
    "time_series",
    "with_gaps",
]
