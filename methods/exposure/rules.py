"""Published decision rules for workplaces: EN 689, the single-shift test, how many workers to sample.

Method: docs/methods/exposure.md.

Every outcome is about exposures of a group as sampled; whether the law is met is for licensed professionals to say.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import inf, isfinite, log
from types import MappingProxyType

from methods.exposure.censored import CensoredLognormal
from methods.exposure.lognormal import Lognormal
from methods.exposure.noncentral import tolerance_factor
from methods.quantities.digits import as_entered, in_digits, percent

#: EN 689:2018 §5.5.2, from memory (L-06): with so many results, all must lie below this share of the limit.
PRELIMINARY = MappingProxyType({3: 0.1, 4: 0.15, 5: 0.2})
#: EN 689:2018 §5.5.3, from memory: at least six results, 95 % of exposures below the limit with 70 % confidence.
MIN_RESULTS, COVERAGE, CONFIDENCE = 6, 0.95, 0.70


class Outcome(StrEnum):
    COMPLIES = "complies"
    DOES_NOT_COMPLY = "does_not_comply"
    NO_DECISION = "no_decision"


@dataclass(frozen=True, slots=True)
class Decision:
    outcome: Outcome
    words: str


def preliminary_test(results: Sequence[float], limit: float) -> Decision:
    """EN 689:2018's preliminary test with three, four or five results (numbers from memory, L-06, L-07).

    ValueError for results that are not finite, and for a limit that is no finite number above zero.
    """
    if not (_is_limit(limit) and all(map(isfinite, results))):
        raise ValueError("results are finite numbers, and a limit is above zero")
    if any(result > limit for result in results):
        return Decision(Outcome.DOES_NOT_COMPLY, "A result lies above the limit.")
    if any(result < 0 for result in results):
        return Decision(Outcome.NO_DECISION, "A result lies below zero: that is no exposure.")
    share = PRELIMINARY.get(len(results))
    if share is None:
        return Decision(Outcome.NO_DECISION, f"The preliminary test takes 3, 4 or 5 results, not {len(results)}.")
    if all(result < share * limit for result in results):
        return Decision(Outcome.COMPLIES, f"All {len(results)} results lie below {as_entered(share)} of the limit.")
    return Decision(
        Outcome.NO_DECISION,
        f"Not all {len(results)} results lie below {as_entered(share)} of the limit: take {MIN_RESULTS} or more in "
        "all.",
    )


def _is_limit(limit: float) -> bool:
    return 0 < limit < inf


@dataclass(frozen=True, slots=True)
class StatisticalTest:
    """EN 689's U_R beside the U_T it must reach, and the decision."""

    u_r: float
    u_t: float
    decision: Decision


def statistical_test(group: Lognormal, limit: float) -> StatisticalTest | Decision:
    """EN 689:2018's test: U_R = (ln limit − ln GM)/ln GSD must reach U_T (L-05, L-06; from memory).

    ValueError for a limit that is no finite number above zero.
    """
    if not _is_limit(limit):
        raise ValueError("a limit is a finite number above zero")
    if group.n < MIN_RESULTS:
        return Decision(Outcome.NO_DECISION, f"{group.n} results; the test needs {MIN_RESULTS} at least.")
    u_r = (log(limit) - group.mean_log) / group.sd_log
    u_t = tolerance_factor(group.n, COVERAGE, CONFIDENCE)
    if u_r >= u_t:
        decision = Decision(Outcome.COMPLIES, f"U_R {u_r:.3f} reaches U_T {u_t:.3f}.")
    else:
        decision = Decision(Outcome.DOES_NOT_COMPLY, f"U_R {u_r:.3f} falls short of U_T {u_t:.3f}.")
    return StatisticalTest(u_r, u_t, decision)


def censored_test(group: CensoredLognormal, limit: float) -> Decision:
    """The same where some results are below detection: the bound of the 95th percentile that U_T stands for, by the
    profile likelihood, is held against ``limit``. ValueError for a limit that is no finite number above zero."""
    if not _is_limit(limit):
        raise ValueError("a limit is a finite number above zero")
    if group.n < MIN_RESULTS:
        return Decision(Outcome.NO_DECISION, f"{group.n} results; the test needs {MIN_RESULTS} at least.")
    share = group.percentile_bounds(COVERAGE, CONFIDENCE).upper / limit
    bound = f"The upper bound of the 95th percentile with {percent(CONFIDENCE)} confidence is {in_digits(share)}"
    outcome = Outcome.COMPLIES if share <= 1 else Outcome.DOES_NOT_COMPLY
    return Decision(outcome, f"{bound} times the limit, by the profile likelihood.")


class Exposure(StrEnum):
    NO_VIOLATION = "no_violation"
    POSSIBLE_OVEREXPOSURE = "possible_overexposure"
    VIOLATION = "violation"


@dataclass(frozen=True, slots=True)
class SingleShift:
    """A shift's average as a share ``y`` of the limit, with one-sided 95 % bounds, and the decision on it."""

    y: float
    lower: float
    upper: float
    exposure: Exposure


def single_shift(average: float, limit: float, sampling_error: float) -> SingleShift:
    """The decision on one full-period sample (NIOSH 77-173; OSHA Technical Manual; T-03, T-04).

    ``sampling_error`` is the method's sampling and analytical error as a share, at one-sided 95 % confidence.
    ValueError for a limit that is no finite number above zero, and where the others are no numbers.
    """
    if not (_is_limit(limit) and isfinite(average) and 0 <= sampling_error < inf):
        raise ValueError("an average and its error are finite numbers, and a limit is above zero")
    y = average / limit
    lower, upper = y - sampling_error, y + sampling_error
    if upper <= 1:
        exposure = Exposure.NO_VIOLATION
    else:
        exposure = Exposure.VIOLATION if lower > 1 else Exposure.POSSIBLE_OVEREXPOSURE
    return SingleShift(y, lower, upper, exposure)


#: NIOSH 77-173 Table 3-1, from memory: (largest group size, workers to sample), so that with the given confidence at
#: least one of the tenth most exposed is among them. A table and not a formula: no formula gives all of its entries.
WORKERS_TO_SAMPLE = MappingProxyType(
    {
        0.90: (
            (8, 7), (9, 8), (10, 9), (12, 10), (14, 11), (17, 12), (20, 13), (24, 14), (29, 15), (37, 16), (49, 17),
            (50, 18),
        ),
        0.95: (
            (12, 11), (14, 12), (16, 13), (18, 14), (21, 15), (24, 16), (27, 17), (31, 18), (35, 19), (41, 20),
            (50, 21),
        ),
    }
)  # fmt: skip
#: For groups beyond the table; ln 0.1/ln 0.9 and ln 0.05/ln 0.9, rounded up.
WORKERS_TO_SAMPLE_OF_MANY = MappingProxyType({0.90: 22, 0.95: 29})


def workers_to_sample(group: int, confidence: float = 0.90) -> int:
    """How many of a group of workers to sample, by the table; all of a group smaller than its first row."""
    if group < 1:
        raise ValueError("a group has at least one worker")
    if confidence not in WORKERS_TO_SAMPLE:
        raise ValueError("the table holds for confidence 0.90 and 0.95")
    table = WORKERS_TO_SAMPLE[confidence]
    first = {0.90: 8, 0.95: 12}[confidence]
    if group < first:
        return group
    return next((workers for size, workers in table if group <= size), WORKERS_TO_SAMPLE_OF_MANY[confidence])


def largest_group(workers: int, confidence: float = 0.90) -> float:
    """For how large a group so many workers sampled are enough by the table; infinite for any."""
    if workers >= WORKERS_TO_SAMPLE_OF_MANY[confidence]:
        return inf
    within = range(1, WORKERS_TO_SAMPLE[confidence][-1][0] + 1)
    return max((size for size in within if workers_to_sample(size, confidence) <= workers), default=0)
