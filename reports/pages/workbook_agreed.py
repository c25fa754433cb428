"""What was agreed with the client, as rows of a sheet."""

from __future__ import annotations

from collections.abc import Iterator

from reports.content.agreements import ReportedAgreed, ReportedAgreement

Row = dict[str, object]


def agreed_rows(agreed: ReportedAgreed) -> list[Row]:
    """One row for each thing that was agreed, then one for each that differs, with the reason."""
    rows = list(_agreement(agreed.agreement)) if agreed.agreement else [_row("agreement", "none on record", "")]
    rows += [_row(departure.item, departure.agreed, departure.used) for departure in agreed.departures]
    if agreed.reason:
        rows.append(_row("why it is released all the same", "", f"{agreed.reason} ({agreed.by}, {agreed.at})"))
    return rows


def _agreement(said: ReportedAgreement) -> Iterator[Row]:
    accepted = f"{said.accepted} by {said.accepted_by}"
    yield _row("accepted", f"{accepted} ({said.recorded})" if said.recorded else accepted, "")
    yield _row("question", said.question, "")
    yield _row("decision", said.decision, "")
    yield from (_row("limit", limit, "") for limit in said.limits)
    yield _row("rule", f"{said.levels}. {said.errors}", "")
    yield from (_row("time of use", use, "") for use in said.use)
    yield from (_row("quality control", limit, "") for limit in said.acceptance)
    yield _row("undecided leads to", said.undecided, "")
    yield _row("parameters", ", ".join(said.parameters), "")
    yield _row("dates", f"{said.first_day} to {said.last_day}", "")
    yield from (_row(f"zone {name}", points, "") for name, _, points in said.zones)
    yield _row("digest", said.digest, "")


def _row(item: str, agreed: str, used: str) -> Row:
    return {"item": item, "agreed": agreed, "differs, now": used}
