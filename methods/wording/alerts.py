"""What is told of an alert: in a mail, on its page, in the report. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from methods.wording.numbers import length, plain

#: Said with every alert, whatever was measured.
CAUTION = (
    "Leave, ventilate, and follow the local rules for emergencies. A meter that shows its reading at once can be wrong "
    "both ways. What to do is decided by licensed or qualified people."
)


def value_words(value: float, unit: str, *, at_least: bool) -> str:
    """``312 ppm``; ``at least 50 ppm, over range``."""
    said = f"{plain(value)} {unit}"
    return f"at least {said}, over range" if at_least else said


def lasting_words(minutes: float, *, partial: bool) -> str:
    """How long, and that a log may not have covered it; "" for a value of a moment."""
    if minutes <= 0:
        return ""
    said = f"for {length(minutes)}"
    return f"{said}; the log does not cover all of the time the level asks about" if partial else said


def mail_subject(parameter: str, value: str, site: str) -> str:
    """One line, whatever a site is called."""
    return one_line(f"Alert: {parameter} {value}, {site}")


def one_line(text: str) -> str:
    """Without line breaks and control characters: a name that people type must not look like another line of a mail."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())


def mail_text(facts: Mapping[str, str], advice: str, link: str) -> str:
    """Short: where, what, when, the level, the caution, and where to answer. ``link``: "" for people without a page."""
    lines = [f"{name}: {one_line(said)}" for name, said in facts.items() if said]
    end = [f"Acknowledge it here: {link}"] if link else []
    return "\n\n".join(["\n".join(lines), *([one_line(advice)] if advice else []), CAUTION, *end]) + "\n"


def names_text(names: Iterable[str]) -> str:
    """``A. Lintel; B. Sill``, or that nobody is."""
    return "; ".join(names) or "nobody"
