from typing import Any

from django.db import migrations


def link(apps: Any, schema_editor: Any) -> None:
    """Files that were read as a kept layout says bear its name; the layout is the one of their shape."""
    uploads = apps.get_model("readings", "Upload").objects.filter(layout__isnull=False)
    layouts = {
        (layout.organisation_id, layout.shape_key): layout.pk
        for layout in apps.get_model("readings", "SavedLayout").objects.all()
    }
    asked = ("pk", "layout__name", "understood__shape", "campaign__site__organisation")
    for pk, name, shape, organisation in uploads.values_list(*asked):
        if name and (kept := layouts.get((organisation, shape))):
            uploads.filter(pk=pk).update(kept_layout=kept)


class Migration(migrations.Migration):
    dependencies = [("readings", "0005_what_a_layout_says")]

    operations = [migrations.RunPython(link, migrations.RunPython.noop, elidable=True)]
