"""How a file was understood: shown before anything is stored, corrected, confirmed, and kept for the next file."""

from __future__ import annotations

from collections import defaultdict
from functools import cached_property
from pathlib import Path
from typing import Any, ClassVar

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access
from campaigns.links import trail
from campaigns.models import Job
from campaigns.services.ownership import organisation_id_of
from campaigns.views.pages import RowPage
from methods.logs.layouts import layout_wording as words
from methods.logs.types import Column, ColumnRole, Layout, LogProblem
from methods.logs.values import fills
from methods.quantities.moments import stamp_text
from readings.forms.layouts import OFFERED, LayoutForm
from readings.forms.saved_layouts import KeepForm
from readings.forms.sheets import SheetForm
from readings.forms.time_controls import CLOCK, EXAMPLE, FORMAT
from readings.job_kinds import READ_UPLOAD
from readings.models import SavedLayout, SettingAside, Upload
from readings.queries.upload_jobs import jobs_of
from readings.services import column_channels, stored_value
from readings.services.original_lines import first_lines
from readings.services.originals import local_copy
from readings.services.preview import Trial, first_rows, try_out
from readings.services.probes import probing_of
from readings.services.understanding import (
    Fixed,
    Overtaken,
    Understood,
    keep_as_read,
    recall,
    settle,
    standing,
    why_fixed,
)

#: Cells and problems beyond these fill a page without telling more.
SHOWN_CELL, SHOWN_COLUMNS, SHOWN_PROBLEMS = 40, OFFERED, 20
NOTHING_READ = "None of the first lines can be read like this: look at the problems below and choose again."


class UploadLayout(RowPage):
    template_name = "readings/layout.html"
    model = Upload
    related: ClassVar[tuple[str, ...]] = ("campaign__site", "instrument__type", "kept_layout")

    @cached_property
    def understood(self) -> Understood | None:
        return recall(self.found)

    @cached_property
    def fixed(self) -> str:
        return why_fixed(self.found) if self.may_change else "Only people who collect here may change it."

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if self.understood is None:
            return self.not_understood()
        if self.understood.asks_sheet:
            return self.show(**self.frame())
        with local_copy(self.found) as path:
            look = LayoutLook(self.found, self.understood, path)
        return self.page(look, KeepForm(initial=self.kept_as(), is_read=bool(self.fixed)))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if not self.may_change:
            raise Http404
        if self.understood is None:
            return self.not_understood(status=409)
        if self.understood.asks_sheet:  # whose columns could be settled otherwise?
            return self.show(status=409, **self.frame())
        with local_copy(self.found) as path:
            keeping = request.POST.get("do") == "keep"
            look = LayoutLook(self.found, self.understood, path, None if keeping else request.POST)
            if request.POST.get("do") == "leave-out":
                look = LayoutLook(self.found, self.understood, path, request.POST.dict() | look.form.open_columns())
        keep = KeepForm(request.POST, is_read=keeping)
        if keeping:
            return self.keep_it(look, keep)
        if request.htmx:  # type: ignore[attr-defined]
            return self.response_class(
                request, "readings/layout_look.html", self.get_context_data(look=look, announce=True, **self.frame())
            )
        if request.POST.get("do") != "read":
            return self.page(look, keep)
        if not keep.is_valid() or look.faults:
            return self.page(look, keep, status=422, faults=look.faults)
        return self.read_it(look, keep)

    @cached_property
    def may_keep(self) -> bool:
        return access.may_add(self.person, SavedLayout, organisation_id_of(self.found))

    def read_it(self, look: LayoutLook, keep: KeepForm) -> HttpResponse:
        said = keep.cleaned_data
        name = said["name"] if said["keep"] and self.may_keep else ""
        try:
            others = settle(
                self.found,
                look.layout,
                self.person,
                keep_as=name,
                represents=said["represents"],
                answers=self.request.POST.get("standing", ""),
            )
        except Overtaken as overtaken:
            return self.look_again(str(overtaken))
        except Fixed as fixed:
            messages.error(self.request, str(fixed))
            return self.page(look, keep, status=409)
        told = "The file is read like this now."
        messages.success(self.request, f"{told} {kept_words(name, others)}" if name else told)
        return redirect(reverse("upload", args=[self.found.key]))

    def look_again(self, why: str) -> HttpResponse:
        messages.error(self.request, why)
        return redirect(self.request.path)

    def keep_it(self, look: LayoutLook, keep: KeepForm) -> HttpResponse:
        """Of a file that is read: nothing is read again, but its layout is kept and says what a stored value is."""
        if not self.may_keep:
            raise Http404
        if not keep.is_valid():
            return self.page(look, keep, status=422)
        name = keep.cleaned_data["name"]
        try:
            others = keep_as_read(self.found, self.person, name, keep.cleaned_data["represents"])
        except Fixed as fixed:
            messages.error(self.request, str(fixed))
            return self.page(look, keep, status=409)
        messages.success(self.request, kept_words(name, others))
        return redirect(reverse("upload", args=[self.found.key]))

    def page(self, look: LayoutLook, keep: KeepForm, status: int = 200, **more: Any) -> HttpResponse:
        return self.show(status=status, look=look, keep_form=keep, saved=self.saved, **more, **self.frame())

    def not_understood(self, status: int = 200) -> HttpResponse:
        """Not read yet, or no log: the lines as they are, and what is wrong with them."""
        upload = self.found
        return self.show(
            status=status,
            problems=upload.problems.filter(line=0),
            first_lines=first_lines(upload, 12),
            **self.frame(),
        )

    def frame(self) -> dict[str, Any]:
        upload = self.found
        return {
            "title": "How it is read",
            "kicker": upload.filename,
            "crumbs": [*trail(upload.campaign), (upload.filename, reverse("upload", args=[upload.key]))],
            "upload": upload,
            "jobs": jobs_of([upload.pk]),
            "waiting": Job.objects.filter(
                kind=READ_UPLOAD, subject_id=upload.pk, state__in=(Job.State.QUEUED, Job.State.RUNNING)
            ).exists(),
            "fixed": self.fixed,
            "layout_url": reverse("upload-layout", args=[upload.key]),
            "may_again": access.may_add(self.person, SettingAside, organisation_id_of(upload)) and not upload.withdrawn,
            "sheet_form": self.sheet_form(),
            "sheet_url": reverse("upload-sheet", args=[upload.key]),
            "sheet_question": self.sheet_question,
            "may_keep": self.may_change and self.may_keep and bool(upload.stored),
            "standing": standing(upload),
            "stored_value": stored_value.said(upload.instrument, upload.kept_layout),
        }

    @property
    def sheet_question(self) -> str:
        """What is asked about the sheets before anything else; "" where one is chosen."""
        asks = self.understood is not None and self.understood.asks_sheet
        return self.understood.questions[0].message if asks and self.understood is not None else ""

    def sheet_form(self) -> Any:
        """For choosing among several sheets; None where there is no choice, or it cannot be made any more."""
        has_choice = self.understood is not None and bool(self.understood.sheets)
        return SheetForm(upload=self.found) if has_choice and not self.fixed else None

    @cached_property
    def saved(self) -> SavedLayout | None:
        """The layout that is kept for files of this shape already."""
        if self.understood is None or self.understood.seen is None:
            return None
        rows = access.visible(self.person, SavedLayout).filter(shape_key=self.understood.seen.shape_key())
        return rows.filter(organisation=self.found.campaign.site.organisation_id).first()

    def kept_as(self) -> dict[str, Any]:
        instrument = self.found.instrument
        name = self.saved.name if self.saved else f"Logs of {instrument.type.name}" if instrument else ""
        said = self.saved.represents if self.saved else ""
        return {"keep": self.saved is not None or bool(self.fixed), "name": name, "represents": said}


def kept_words(name: str, others: int) -> str:
    also = f"; {others} that waited {'is' if others == 1 else 'are'} read with it." if others else "."
    return f"“{name}” is kept for files of this shape{also}"


class LayoutLook:
    """What the page shows of one way to read a file: the form, what it gives, and the first lines."""

    def __init__(self, upload: Upload, understood: Understood, path: Path, data: Any = None) -> None:
        assert understood.base is not None
        assert understood.layout is not None
        self.upload = upload
        rows = first_rows(path, understood.base)
        self.form = LayoutForm(understood, rows, data, probing_of(upload, rows))
        self.form.is_valid()
        self.layout: Layout = understood.layout if data is None and understood.settled else self.form.layout
        self.missing = self.form.missing()
        self.trial: Trial = try_out(path, self.layout)
        self.rows = rows

    @property
    def faults(self) -> list[tuple[str, str]]:
        """(words, id of the control): why this cannot be settled on."""
        wrong = [
            (f"{self.form[name].label}: {' '.join(str(error) for error in told)}", self.form.id_of(name))
            for name, told in self.form.errors.items()
            if name in self.form.fields
        ]
        if wrong or self.missing:
            return [*wrong, *self.missing]
        if self.trial.refused:
            return [(problem.message, "columns") for problem in self.trial.refused]
        return [] if self.trial.rows else [(NOTHING_READ, "columns")]

    @cached_property
    def elsewhere(self) -> list[tuple[str, str]]:
        """What is still to be said where no question on top asks for it."""
        on_top = {self.form.id_of(name) for name in self.on_top}
        return [(told, control) for told, control in self.missing if control not in on_top]

    @cached_property
    def on_top(self) -> set[str]:
        """Names of the controls that stand among the questions."""
        return {field.name for field in self.form.questions()}

    @property
    def settings(self) -> list[Any]:
        """Controls for the whole file that nobody asked about."""
        names = [name for name in ("order", CLOCK, "decimal", fills.CODE, "first_data_line") if name not in self.on_top]
        return [self.form[name] for name in names if name in self.form.fields]

    @property
    def time_controls(self) -> list[Any]:
        """How the time is written, for a file whose stamps were not understood, or not rightly."""
        return [self.form[name] for name in (EXAMPLE, FORMAT)]

    @property
    def is_time_open(self) -> bool:
        """Whether these controls are in view: something was said there, or the time cannot be read."""
        said = any(control.value() or control.errors for control in self.time_controls)
        return said or not self.layout.stamp_format

    @property
    def facts(self) -> list[tuple[str, str]]:
        layout, trial = self.layout, self.trial
        facts = [
            ("File", words.file_words(layout)),
            ("Lines", words.lines_words(layout)),
            ("Time", words.time_words(layout)),
            ("Written as", words.written_words(layout)),
            ("Begins", words.start_words(layout)),
            ("Date", words.order_words(layout)),
            ("Decimals", f"after {words.decimal_words(layout)}"),
        ]
        if trial.first is not None and trial.last is not None:
            of = "" if trial.whole else f" of the first {trial.rows:,} lines"
            facts += [(f"Earliest stamp{of}", stamp_text(trial.first)), (f"Latest stamp{of}", stamp_text(trial.last))]
        return [(name, told) for name, told in facts if told]

    @property
    def outcome(self) -> str:
        """What reading like this would give, in a sentence."""
        trial = self.trial
        if self.missing or trial.refused:
            return "Nothing is read before the questions are answered."
        if not trial.rows:
            return NOTHING_READ
        of = "" if trial.whole else "first "
        lines = f"The {of}{trial.rows:,} lines with readings"
        told = [f"{lines} run from {stamp_text(trial.first or 0)} to {stamp_text(trial.last or 0)}"]
        count = len(trial.problems)
        told.append(f"{count} problem{'' if count == 1 else 's'}" if count else "no problem")
        return "; ".join(told) + "."

    @cached_property
    def problems(self) -> list[LogProblem]:
        """Those of the trial, and where the instrument is known, columns it has no channel for."""
        unmatched: list[LogProblem] = []
        if self.upload.instrument is not None and not self.missing:
            _, unmatched = column_channels.match(self.layout, self.upload.instrument)
        return [*self.trial.refused * (not self.missing), *unmatched, *self.trial.problems][:SHOWN_PROBLEMS]

    @cached_property
    def heads(self) -> list[dict[str, Any]]:
        """One for each column of the file: its name, what it is taken as, and the controls for it."""
        by_index: dict[int, list[int]] = defaultdict(list)
        for place, column in enumerate(self.layout.columns):
            by_index[column.index].append(place)
        return [self._head(index, by_index.get(index, [])) for index in range(min(self.width, SHOWN_COLUMNS))]

    @property
    def width(self) -> int:
        return 1 + max(column.index for column in self.layout.columns)

    @property
    def more_columns(self) -> int:
        return max(0, self.width - SHOWN_COLUMNS)

    def _head(self, index: int, places: list[int]) -> dict[str, Any]:
        if not places:
            return {"name": f"column {index + 1}", "words": "left out"}
        column = self.layout.columns[places[0]]
        if len(places) > 1:
            return {"name": self._plain(index), "words": "readings of the kinds below"}
        return {"name": column.name or f"column {index + 1}", **self._controls(places[0], column)}

    def _plain(self, index: int) -> str:
        """The name of a column whose kinds have names of their own."""
        header = next((cells for line, cells in self.rows if line == self.layout.header_line), [])
        return header[index] if index < len(header) else f"column {index + 1}"

    def _controls(self, place: int, column: Column) -> dict[str, Any]:
        names = [name for name in (f"column-{place}", f"unit-{place}") if name in self.form.fields]
        return {
            "words": words.column_words(column),
            "asked": bool(self.on_top & set(names)) or self.form.is_twin(place),
            "controls": [self.form[name] for name in names if name not in self.on_top],
        }

    @cached_property
    def kinds(self) -> list[dict[str, Any]]:
        """The kinds of readings of a long file."""
        return [
            {"name": column.name, **self._controls(place, column)}
            for place, column in enumerate(self.layout.columns[:SHOWN_COLUMNS])
            if self.form.is_kind(column)
        ]

    @cached_property
    def lines(self) -> list[dict[str, Any]]:
        """The first lines: number, what the line is, its cells, the stamp as read, what is wrong with it."""
        taken = {column.index for column in self.layout.columns if column.role is not ColumnRole.IGNORE}
        wrong: dict[int, list[str]] = defaultdict(list)
        for problem in self.trial.problems:
            wrong[problem.line].append(problem.message)
        return [
            {
                "number": line,
                "what": self._what(line),
                "cells": [(_short(cell), at in taken) for at, cell in enumerate(cells[:SHOWN_COLUMNS])],
                "lacking": range(len(cells), min(self.width, SHOWN_COLUMNS)),
                "stamp": stamp_text(self.trial.stamps[line]) if line in self.trial.stamps else "",
                "wrong": wrong.get(line, []),
                "span": min(self.width, SHOWN_COLUMNS) + 1,
            }
            for line, cells in self.rows
        ]

    def _what(self, line: int) -> str:
        layout = self.layout
        if line in (layout.header_line, layout.units_line):
            return "names" if line == layout.header_line else "units"
        return "above the readings" if line < layout.first_data_line else ""


def _short(cell: str) -> str:
    return cell if len(cell) <= SHOWN_CELL else cell[: SHOWN_CELL - 1] + "…"
