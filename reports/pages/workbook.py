"""The results of a campaign as a workbook, for whoever wants to compute on. Text in it can run as no formula."""

from __future__ import annotations

import io
from collections.abc import Iterable
from typing import TYPE_CHECKING

from campaigns.models import Campaign
from methods.quality.acceptance import MEASURES
from methods.wording.spreadsheets import harmless
from reports.content.agreements import ReportedAgreed
from reports.content.alerts import ReportedAlert
from reports.content.quality import ReportedQualityRow
from reports.models import Finding, Result
from reports.pages.workbook_agreed import agreed_rows
from reports.pages.workbook_results import calibration_said, finding_row, result_row, unmeasured_row
from reports.services.freezing.zones import unmeasured_points
from reports.services.quality.told import QualityTold

if TYPE_CHECKING:
    import pandas as pd
    from openpyxl.worksheet.worksheet import Worksheet

PERCENT = "per cent"
#: A signed number stays a number: the format writes the plus.
SIGNS = ("+", "-", "\N{MINUS SIGN}")
SIGNED = "+0.0##;-0.0##;0"
BY_NAME = {measure.name: measure for measure in MEASURES.values()}
TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def workbook(
    campaign: Campaign,
    results: Iterable[Result],
    findings: Iterable[Finding],
    agreed: ReportedAgreed,
    alerts: Iterable[ReportedAlert] = (),
) -> bytes:
    """XLSX with the sheets Findings, Results and Agreed, and where there are any Not measured, Alerts and Quality
    control. Times are on the clock of the site, which their column names: cells of a sheet have no zone."""
    import pandas as pd  # late: it costs every process a second, and only this page needs it

    zone = campaign.site.time_zone
    kept = list(results)
    calibration = calibration_said(campaign, kept)
    limits = {c.pk: c.limit.as_library() for c in campaign.criteria.select_related("limit")}
    sheets = {
        "Findings": pd.DataFrame(finding_row(finding, limits[finding.criterion_id]) for finding in findings),
        "Results": pd.DataFrame(result_row(result, zone, calibration(result)) for result in kept),
        "Agreed": pd.DataFrame(agreed_rows(agreed)),
    }
    deployments = campaign.deployments.select_related("point__room__zone__floor")
    if missing := list(unmeasured_points(campaign, deployments, {result.point_id for result in kept})):
        sheets["Not measured"] = pd.DataFrame(unmeasured_row(point, why) for point, why in missing)
    if rows := [_alert(alert, zone) for alert in alerts]:
        sheets["Alerts"] = pd.DataFrame(rows)
    if measures := QualityTold.of(campaign).rows:
        sheets["Quality control"] = pd.DataFrame(_quality(row, zone) for row in measures)
    out = io.BytesIO()
    with pd.ExcelWriter(out, engine="openpyxl") as writer:
        for name, frame in sheets.items():
            _safe(frame, zone).to_excel(writer, sheet_name=name, index=False, freeze_panes=(1, 0))
        if PERCENT in sheets.get("Quality control", ()):
            _signed(writer.sheets["Quality control"], [row.value.startswith(SIGNS) for row in measures])
    return out.getvalue()


def _alert(alert: ReportedAlert, zone: str) -> dict[str, object]:
    return {
        "parameter": alert.parameter,
        "level": alert.level,
        "highest": alert.value,
        "unit": alert.unit,
        "in words": alert.said,
        f"reached ({zone})": alert.reached,
        "how long": alert.lasting,
        "place": alert.place,
        "instrument": alert.instrument,
        "readings": alert.standing or alert.basis,
        "mail to": "; ".join(alert.told),
        f"acknowledged ({zone})": alert.acknowledged,
        "what was done": alert.done,
        f"closed ({zone})": alert.closed or "open",
        "because": alert.reason,
    }


def _quality(row: ReportedQualityRow, zone: str) -> dict[str, object]:
    measure = BY_NAME.get(row.measure)
    return {
        "measure": row.measure,
        "parameter": row.parameter,
        "outcome": row.word,
        PERCENT: row.percent,
        "per cent of": measure.of if measure and row.percent is not None else "",
        "number": int(row.value) if row.percent is None and row.value.isdecimal() else None,
        "where": row.about,
        "acceptance limit": row.limit,
        f"set ({zone})": row.set_when,
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


def _signed(sheet: Worksheet, signed: list[bool]) -> None:
    """The percentages of those rows with their sign."""
    (column,) = [cell.column for cell in sheet[1] if cell.value == PERCENT]
    for n, is_signed in enumerate(signed, 2):
        if is_signed:
            sheet.cell(n, column).number_format = SIGNED
