"""What the released report of a database prints, as JSON: ``manage.py shell < tests/upgrade/printed.py``.

Runs under the Fanlight that made the fixture and under today's, so it uses only what both have.
"""

import html
import json
import re

import pypdfium2
from django.test import Client
from django.urls import reverse

from campaigns.models import Membership
from reports.content.canonical import digest
from reports.models import Finding, Report, Result
from reports.pdf import render

FIGURE = re.compile(r"[−-]?\d[\d.,]*\d?\s?(?:mg/m³|µg/m³|ppm|ppb|%|Bq/m³|°C|kPa)")


def figures(text: str) -> list[str]:
    return sorted({re.sub(r"\s", " ", found).strip() for found in FIGURE.findall(text)})


def page(client: Client, url: str) -> list[str]:
    response = client.get(url, SERVER_NAME="localhost")
    assert response.status_code == 200, (url, response.status_code)
    return figures(html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


report = Report.objects.get()
reader = Client()
reader.force_login(Membership.objects.get(role="client", client=report.campaign.site.client).user)
zones = [z for b in report.content["buildings"] for f in b["floors"] for z in f["zones"] if z["measured"]]
document = pypdfium2.PdfDocument(render(report.record))
text = "\n".join(sheet.get_textpage().get_text_bounded() for sheet in document)
document.close()
print("PRINTED " + json.dumps({
    "digest": report.digest,
    "content": digest(report.content),
    "page": page(reader, reverse("released-report", args=[report.key])),
    "zones": {z["name"]: page(reader, reverse("released-zone", args=[report.key, z["key"]])) for z in zones},
    "pdf": figures(text),
    "signed": [[z["name"], f["criterion"], f["verdict"], f["statement"]] for z in zones for f in z["findings"]],
    "findings": [list(row) for row in Finding.objects.order_by("zone__name", "criterion__limit__code").values_list(
        "zone__name", "criterion__limit__code", "verdict", "fraction", "statement"
    )],
    "results": [list(row) for row in Result.objects.order_by("pk").values_list("verdict", "value", "u")],
}, ensure_ascii=False))  # fmt: skip
