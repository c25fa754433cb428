"""Earlier reports: the client that each names, and the digest of its PDF as it is now."""

import hashlib
import logging

from django.core.files.storage import default_storage
from django.db import migrations
from django.db.models.fields.json import KeyTextTransform

from reports.migrations._whose import client_of

log = logging.getLogger(__name__)


def keep_clients(apps, schema_editor):
    Report, Client = apps.get_model("reports", "Report"), apps.get_model("campaigns", "Client")
    before = former_names(apps)
    named = KeyTextTransform("client", "content")
    reports = Report.objects.annotate(named=named).values_list("pk", "named", "campaign__site__organisation")
    for pk, name, organisation in list(reports.order_by("pk")):
        now = dict(Client.objects.filter(organisation=organisation).values_list("name", "pk"))
        mine = {was: client for was, client in before if client in now.values()}
        client = client_of(name or "", now, mine)
        if name and client is None:
            log.warning("Report %s names the client %r, whom nobody knows: it is closed to people of clients.", pk, name)
        Report.objects.filter(pk=pk).update(client=client)


def former_names(apps):
    """(name, id) of clients that had another name before, from the history, the latest last."""
    LogEntry, ContentType = apps.get_model("auditlog", "LogEntry"), apps.get_model("contenttypes", "ContentType")
    kind = ContentType.objects.filter(app_label="campaigns", model="client").first()
    entries = LogEntry.objects.filter(content_type=kind, action=1).order_by("timestamp") if kind else []
    return [(e.changes["name"][0], e.object_id) for e in entries if e.changes and "name" in e.changes]


def keep_digests(apps, schema_editor):
    """Nothing else is known to hold these PDFs against; one that is not where it was stored has no digest."""
    Report = apps.get_model("reports", "Report")
    for pk, name in list(Report.objects.exclude(pdf="").order_by("pk").values_list("pk", "pdf")):
        try:
            with default_storage.open(name, "rb") as stored:
                digest = hashlib.file_digest(stored, "sha256").hexdigest()
        except Exception as error:  # of whichever storage: the upgrade goes on
            log.warning("The PDF of report %s cannot be read: %s", pk, error)
            continue
        Report.objects.filter(pk=pk).update(pdf_sha256=digest)


class Migration(migrations.Migration):
    dependencies = [
        ("reports", "0007_whose_report"),
        ("auditlog", "0017_add_actor_email"),
        ("contenttypes", "0002_remove_content_type_name"),
    ]

    operations = [
        migrations.RunPython(keep_clients, migrations.RunPython.noop),
        migrations.RunPython(keep_digests, migrations.RunPython.noop),
    ]
