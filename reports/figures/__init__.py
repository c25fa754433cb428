"""Figures as plain plotly dicts, coloured by the roles of ``static/charts.js``, and the arithmetic of drawing. Pure."""

from reports.figures.axes import LimitLine, Span, Stay
from reports.figures.budget import budget_bars
from reports.figures.decimate import MOST_POINTS, extremes, with_gaps
from reports.figures.limits import LimitMark, limit_axis
from reports.figures.scatter import Cloud, scatter
from reports.figures.section import spans
from reports.figures.series import Course, Worst, time_series
from reports.figures.spread import spread
from reports.figures.stack import Layer, stack
from reports.figures.strips import Strip, strips

__all__ = [
    "MOST_POINTS",
    "Cloud",
    "Course",
    "Layer",
    "LimitLine",
    "LimitMark",
    "Span",
    "Stay",
    "Strip",
    "Worst",
    "budget_bars",
    "extremes",
    "limit_axis",
    "scatter",
    "spans",
    "spread",
    "stack",
    "strips",
    "time_series",
    "with_gaps",
]
