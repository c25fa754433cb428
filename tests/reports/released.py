"""What tests of releasing read of the pages, and how they sign."""

from __future__ import annotations

import re
from typing import Any

from django.test import Client
from django.urls import reverse

from campaigns import models as m
from reports.content.canonical import digest
from reports.models import Report
from reports.services.freeze import freeze
from tests.reports.measured import House


def pages_of(report: Report, measured: House) -> list[str]:
    return [
        reverse("released-report", args=[report.key]),
        reverse("released-zone", args=[report.key, measured.high.key]),
        reverse("report-pdf", args=[report.key]),
    ]


def text(response: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def sign(browser: Client, campaign: m.Campaign, **more: str) -> Any:
    said = {"name": "C. Lintel", "confirm": "on", "seen": digest(freeze(campaign))} | more
    return browser.post(reverse("report-release", args=[campaign.key]), {k: v for k, v in said.items() if v})
