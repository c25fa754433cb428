"""What the columns of judging can hold."""

from __future__ import annotations

from campaigns.models.bounds import CALCULATED, SHARE, Range, bound
from methods.verdicts.rulings import ComparabilityState
from methods.verdicts.words import Verdict
from reports.models.exposure import ExposureGroup
from reports.models.findings import Finding, Result

VERDICTS = [verdict.value for verdict in Verdict]
POSITIVE: Range = (0.0, CALCULATED[1])

bound(
    Result,
    {
        "value": CALCULATED, "u": POSITIVE, "dof": POSITIVE, "excess": CALCULATED, "p_above": SHARE, "p_not_met": SHARE,
        "reach": CALCULATED, "coverage": POSITIVE,
    },
    {"verdict": VERDICTS, "comparability": [state.word for state in ComparabilityState]},
)  # fmt: skip
bound(Finding, {"fraction": CALCULATED}, {"verdict": VERDICTS})
bound(ExposureGroup, {"sampling_error": SHARE}, told=["sampling_error"])
