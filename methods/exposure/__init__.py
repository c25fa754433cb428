"""Groups of similar exposure at workplaces (docs/methods/exposure.md). Pure."""

from __future__ import annotations

from methods.exposure.censored import MOSTLY_CENSORED, CensoredLognormal, fit_censored
from methods.exposure.lognormal import Bounds, Lognormal, fit
from methods.exposure.noncentral import noncentral_t, tolerance_factor
from methods.exposure.rules import (
    Decision,
    Exposure,
    Outcome,
    SingleShift,
    StatisticalTest,
    censored_test,
    largest_group,
    preliminary_test,
    single_shift,
    statistical_test,
    workers_to_sample,
)
from methods.exposure.shape import Plot, probability_plot, shapiro_wilk

__all__ = [
    "MOSTLY_CENSORED",
    "Bounds",
    "CensoredLognormal",
    "Decision",
    "Exposure",
    "Lognormal",
    "Outcome",
    "Plot",
    "SingleShift",
    "StatisticalTest",
    "censored_test",
    "fit",
    "fit_censored",
    "largest_group",
    "noncentral_t",
    "preliminary_test",
    "probability_plot",
    "shapiro_wilk",
    "single_shift",
    "statistical_test",
    "tolerance_factor",
    "workers_to_sample",
]
