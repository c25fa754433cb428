"""What is said of the meters behind results: how many rest on a failed check, or on what a type promises. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from methods.verdicts.comparability import CHECK_ACCEPTED, CHECK_FAILED, TYPE_DATA_ONLY

#: Beside one result.
BESIDE = {
    CHECK_FAILED: "rests on a failed check",
    CHECK_ACCEPTED: "rests on a failed check that a person accepted",
    TYPE_DATA_ONLY: "rests on data of the type alone",
}
_OF_MANY = {
    CHECK_FAILED: "{count} of {total} {results} on a field check that failed, and {are} an indication only until a "
    "person accepts it.",
    CHECK_ACCEPTED: "{count} of {total} {results} on a field check that failed and that a person accepted; the reason "
    "is given with each.",
    TYPE_DATA_ONLY: "{count} of {total} {results} on what the type of the instrument promises, without a calibration "
    "in force or a check in the campaign, and {are} an indication only.",
}


def sentences(evidence: Iterable[str]) -> Iterator[str]:
    """One for each kind of evidence that is there, from what each of the results has, "" for nothing to say."""
    said = list(evidence)
    for code, words in _OF_MANY.items():
        count = said.count(code)
        if count:
            noun, verb, are = "result" if len(said) == 1 else "results", "rests", "is"
            if count > 1:
                verb, are = "rest", "are"
            yield words.format(count=count, total=len(said), results=f"{noun} {verb}", are=are)


def overdue(due: str) -> str:
    """Beside one result. ``due``: ISO 8601."""
    return f"calibration overdue since {due}"


def overdue_words(instrument: str, channel: str, due: str, count: int, of: int) -> str:
    """``Meter B, formaldehyde: calibration overdue since 2026-08-01; 3 of 9 results rest on it.``"""
    rest = f"{count} of {of} result{'' if of == 1 else 's'} {'rests' if count == 1 else 'rest'} on it"
    return f"{instrument}, {channel}: {overdue(due)}; {rest}."


def accepted_words(instrument: str, kind: str, at: str, accepted: str) -> str:
    """``Meter B: the zero check of 2026-09-15 11:00 failed; accepted by … on 2026-09-20: the bag was not clean.``"""
    return f"{instrument}: the {kind} check of {at} failed; {accepted.removesuffix('.')}."


def failed_words(instrument: str, failed: int, of: int) -> str:
    """``Meter B: 4 of 8 field checks failed.``"""
    return f"{instrument}: {failed} of {of} field check{'s' if of > 1 else ''} failed."
