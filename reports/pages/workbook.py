"""The results of a campaign as a workbook, for whoever wants to compute on. Text in it can run as no formula."""

from __future__ import annotations

import io
from collections.abc import Iterable
from typing import TYPE_CHECKING

from campaigns.models import Campaign
from methods.wording.spreadsheets import harmless
from reports.content.agreements import ReportedAgreed
from reports.content.alerts import ReportedAlert
from reports.content.quality import ReportedQualityRow
from reports.models import Finding, Result
from reports.pages.workbook_agreed import agreed_rows
from reports.services.quality.told import QualityTold
from reports.services.result_values import indication_of, word_of

if TYPE_CHECKING:
    import pandas as pd

TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def workbook(
    campaign: Campaign,
    results: Iterable[Result],
    findings: Iterable[Finding],
    agreed: ReportedAgreed,
    alerts: Iterable[ReportedAlert] = (),
) -> bytes:
    """XLSX with the sheets Findings, Results and Agreed, and where there are any Alerts and Quality control. Times are
    on the clock of the
    site, without zone: sheets have none."""
    import pandas as pd  # late: it costs every process a second, and only this page needs it

    zone = campaign.site.time_zone
    sheets = {
        "Findings": pd.DataFrame(map(_finding, findings)),
        "Results": pd.DataFrame(map(_result, results)),
        "Agreed": pd.DataFrame(agreed_rows(agreed)),
    }
    if rows := list(map(_alert, alerts)):
        sheets["Alerts"] = pd.DataFrame(rows)
    if measures := QualityTold.of(campaign).rows:
        sheets["Quality control"] = pd.DataFrame(map(_quality, measures))
    out = io.BytesIO()
    with pd.ExcelWriter(out, engine="openpyxl") as writer:
        for name, frame in sheets.items():
            _safe(frame, zone).to_excel(writer, sheet_name=name, index=False, freeze_panes=(1, 0))
    return out.getvalue()


def _alert(alert: ReportedAlert) -> dict[str, object]:
    return {
        "parameter": alert.parameter,
        "level": alert.level,
        "highest": alert.value,
        "unit": alert.unit,
        "in words": alert.said,
        "reached": alert.reached,
        "how long": alert.lasting,
        "place": alert.place,
        "instrument": alert.instrument,
        "readings": alert.standing or alert.basis,
        "mail to": "; ".join(alert.told),
        "acknowledged": alert.acknowledged,
        "what was done": alert.done,
        "closed": alert.closed or "open",
        "because": alert.reason,
    }


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "floor": finding.zone.floor.name,
        "zone": finding.zone.name,
        "criterion": str(finding.criterion.limit),
        "verdict": finding.verdict,
        "in words": word_of(finding.governing),
        "as an indication": indication_of(finding.governing),
        "fraction of the limit": finding.fraction,
        "statement": finding.statement,
        "what would decide it": finding.advice,
        "digest": finding.digest,
    }


def _result(result: Result) -> dict[str, object]:
    first = result.traced.first
    return {
        "point": str(result.point),
        "instrument": result.taken_with,
        "criterion": str(result.criterion.limit),
        "verdict": result.verdict,
        "in words": word_of(result),
        "as an indication": indication_of(result),
        "value": result.value,
        "U (k = 2)": None if result.u is None else 2 * result.u,
        "unit": result.unit,
        "probability above": result.p_above,
        "readings": result.reading_count,
        "coverage": result.coverage,
        "window from": result.window_start,
        "window to": result.window_end,
        "first reading in file": first and first.file,
        "at line": first and first.line,
        "SHA-256 of the file": first and first.sha256,
        "digest": result.digest,
    }


def _quality(row: ReportedQualityRow) -> dict[str, object]:
    return {
        "measure": row.measure,
        "parameter": row.parameter,
        "outcome": row.word,
        "per cent": row.percent,
        "measured": row.value,
        "of": row.about,
        "acceptance limit": row.limit,
        "set": row.set_when,
        "not assessed because": row.why,
    }


def _safe(frame: pd.DataFrame, zone: str) -> pd.DataFrame:
    import pandas as pd

    for name in frame.columns:
        column = frame[name]
        if isinstance(column.dtype, pd.DatetimeTZDtype):
            frame[name] = column.dt.tz_convert(zone).dt.tz_localize(None)
        elif pd.api.types.is_string_dtype(column.dtype) or column.dtype == object:
            frame[name] = column.map(lambda cell: harmless(cell) if isinstance(cell, str) else cell)
    return frame
