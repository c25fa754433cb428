"""Figures as plain plotly dicts, coloured by the roles of ``colour-roles.js``, and the arithmetic of drawing."""

from methods.figures.axes import DeploymentBar, LimitLine, Span
from methods.figures.budget import budget_bars
from methods.figures.decimate import MOST_POINTS, extremes
from methods.figures.limits import LimitMark, limit_axis
from methods.figures.scatter import Cloud, scatter
from methods.figures.section import spans
from methods.figures.series import Course, Worst, time_series
from methods.figures.spread import spread
from methods.figures.stack import Layer, stack
from methods.figures.strips import PointStrip, strips

__all__ = [
    "MOST_POINTS",
    "Cloud",
    "Course",
    "DeploymentBar",
    "Layer",
    "LimitLine",
    "LimitMark",
    "PointStrip",
    "Span",
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
]
