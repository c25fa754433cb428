"""Files about which something has to be said, and short ways to say it as a person would."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from datetime import datetime
from typing import Any

import openpyxl
from django.test import Client
from django.urls import reverse

from campaigns.models import User
from methods.quantities.moments import stamp_text
from readings.models import Reading, Upload

Browse = Callable[[User | None], Client]


def a_log(*rows: str, head: str = "time,HCHO (ppm)") -> str:
    return "\n".join([head, *rows]) + "\n"


#: 1 February or 2 January: no line tells.
AMBIGUOUS = a_log("01/02/2026 09:00,0.031", "01/02/2026 09:01,0.032", "01/02/2026 09:02,0.033")
#: The same columns a day later.
AMBIGUOUS_TOO = a_log("02/02/2026 09:00,0.041", "02/02/2026 09:01,0.042", "02/02/2026 09:02,0.043")
NO_UNIT = a_log("2026-09-15 09:00,0.031", "2026-09-15 09:01,0.032", "2026-09-15 09:02,0.033", head="time,HCHO")
CLEAR = a_log("2026-09-15 09:00,0.031", "2026-09-15 09:01,0.032", "2026-09-15 09:02,0.033")
UNKNOWN = a_log(
    "2026-09-15 09:00,7,21.5", "2026-09-15 09:01,9,21.6", "2026-09-15 09:02,8,21.7", head="time,Kanal 2,Temp"
)  # fmt: skip
KINDS = ("HCHO;0.03;mg/m³", "Temperature;21.5;°C", "CO2;612;ppm")
LONG = a_log(
    *(f"2026-09-15 09:0{minute};{kind}" for minute in range(4) for kind in KINDS), head="time;parameter;value;unit"
)
JSON_LINES = "".join(json.dumps({"time": f"2026-09-15T09:0{k}:00", "hcho": 0.03}) + "\n" for k in range(4))
TWINS = a_log("2026-09-15 09:00,21.5,22.5", "2026-09-15 09:01,21.6,22.7", head="time,Temp (°C),Temp probe (°C)")


def a_workbook() -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["time", "HCHO"])
    for minute in range(4):
        sheet.append([datetime(2026, 9, 15, 9, minute), 0.031])  # noqa: DTZ001 - the logger's own clock
    kept = io.BytesIO()
    book.save(kept)
    return kept.getvalue()


def at(route: str, row: Any) -> str:
    return reverse(route, args=[row.key])


def say(
    browser: Client,
    upload: Upload,
    named: dict[str, str] | None = None,
    *,
    do: str = "read",
    script: bool = False,
    **choices: Any,
) -> Any:
    """POST the page's form as a browser sends it: every control as it stands, with some of them chosen otherwise.

    Names of controls are written with "_" here: column_1, unit_1, order; those of ``named`` are as they are.
    """
    sent = dict(shown(browser, upload)) | (named or {})
    sent.update({name.replace("_", "-", 1) if name[-1].isdigit() else name: value for name, value in choices.items()})
    headers = {"HX-Request": "true"} if script else {}
    return browser.post(at("upload-layout", upload), sent if script else {**sent, "do": do}, headers=headers)


def shown(browser: Client, upload: Upload, route: str = "upload-layout") -> dict[str, str]:
    """The controls of the page as they stand: what a browser would send."""
    page = browser.get(at(route, upload)).context
    form = page["look"].form
    values = {name: form[name].value() for name in form.fields if form[name].value() not in (None, "")}
    return {**values, "standing": page["standing"]}


def stored(upload: Upload) -> list[tuple[str, str, str, float | None]]:
    """(stamp, parameter, unit, value) of each reading, in the order of the clock."""
    rows = Reading.objects.filter(upload=upload).select_related("channel__spec").order_by("stamp", "channel")
    return [(stamp_text(r.stamp), r.channel.spec.parameter, r.channel.spec.unit, r.raw) for r in rows]
