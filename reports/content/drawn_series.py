"""The frozen course of the readings of a zone, drawn, with the words and numbers that belong to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString

from methods.figures.course import course_svg, drawn_limits
from methods.quantities.substances import SUBSTANCES
from methods.wording.numbers import mid_sentence
from reports.content.courses import ReportedCourse
from reports.content.places import ReportedZone

COLUMNS: list[dict[str, Any]] = [
    {"label": "Point"},
    {"label": "When"},
    {"label": "Readings", "num": True},
    {"label": "Lowest", "num": True},
    {"label": "Highest", "num": True},
]


@dataclass(frozen=True, slots=True)
class CourseSheet:
    """For ``reports/released/course.html``. words: how to read the drawing. columns, rows: for ``parts/table.html``."""

    svg: SafeString
    caption: str
    words: list[str]
    columns: list[dict[str, Any]]
    rows: list[list[Any]]
    table_caption: str


def courses(zone: ReportedZone) -> dict[str, CourseSheet]:
    """By the name of the criterion beside which it is drawn."""
    return {course.criteria[0]: _drawn(course, zone) for course in zone.courses}


def drawn_beside(zone: ReportedZone) -> dict[str, str]:
    """Criteria of a parameter that is drawn beside another one: their name → the name of that one."""
    return {ref: course.criteria[0] for course in zone.courses for ref in course.criteria[1:]}


def _drawn(course: ReportedCourse, zone: ReportedZone) -> CourseSheet:
    name, unit = course.name, course.unit
    substance = SUBSTANCES.get(course.parameter)  # what is signed may be gone from today's table
    from_zero = substance is None or substance.axis_from_zero
    svg = course_svg(course, title=_title(course, zone), from_zero=from_zero)
    rows: list[list[Any]] = [
        [
            {"text": stay.where, "note": stay.instrument},
            stay.when,
            f"{stay.readings:,}",
            {"text": stay.lowest, "unit": unit},
            {"text": stay.highest, "unit": unit},
        ]
        for stay in course.stays
    ]
    return CourseSheet(
        svg=SafeString(svg),
        caption=f"The course of {mid_sentence(name)} at the points that speak for {zone.name}, corrected.",
        words=_words(course),
        columns=COLUMNS,
        rows=rows,
        table_caption=f"{name}: readings behind the drawing; lowest and highest of those that count.",
    )


def _title(course: ReportedCourse, zone: ReportedZone) -> str:
    stays = "; ".join(
        f"{stay.where}, {stay.when}: {stay.lowest} to {stay.highest} {course.unit}" for stay in course.stays
    )
    limits = ", ".join(line.label for line in course.limits)
    return f"{course.name} in {zone.name}. {stays}.{f' Limit: {limits}.' if limits else ''}"


def _words(course: ReportedCourse) -> list[str]:
    """How to read the drawing, as far as it has it."""
    stays = course.stays
    said = [f"In {course.unit_text}, by the clock of the site."]
    if any(stay.thinned for stay in stays):
        said.append("Of each short stretch of time the lowest and the highest reading are drawn.")
    said.append("Readings that do not count (warming up, settling, errors) are left out.")
    if any(stay.below for stay in stays):
        said.append("An arrow down stands at the detection limit: the true value is somewhere below.")
    if any(stay.over for stay in stays):
        said.append("An arrow up stands at the end of the range: the true value may be higher.")
    if course.result:
        said.append(f"The thick bar is the result that speaks for the zone: {course.result.text}.")
    if set(course.criteria) - {line.ref for line in course.limits}:
        said.append("Limits in other units, or for the value less the outdoor air, are not drawn.")
    near = drawn_limits(course)
    far = [line.label for line in course.limits if line not in near]
    if far:
        said.append(f"Far above the drawing lies the limit {', '.join(far)}.")
    return said
