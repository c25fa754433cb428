"""How much a result concerns becomes columns: a zone's governing result is found without reading what is told of each."""

from __future__ import annotations

from typing import Any

from django.db import migrations, models

RANKS = {False: 0, None: 1, True: 2}
NOT_COMPARABLE = 3


def fill(apps: Any, schema_editor: Any) -> None:
    results = apps.get_model("reports", "Result").objects
    batch: list[Any] = []
    for result in results.only("verdict", "value", "trace").iterator(500):
        trace, value = result.trace, result.value or 0.0
        compared = result.verdict != "not_comparable"
        result.rank = RANKS[trace.get("is_met")] if compared else NOT_COMPARABLE
        result.p_not_met = trace.get("p_not_met")
        result.reach = value if trace.get("is_upper", True) else -value
        batch.append(result)
        if len(batch) == 500:
            results.bulk_update(batch, ["rank", "p_not_met", "reach"])
            batch.clear()
    results.bulk_update(batch, ["rank", "p_not_met", "reach"])


class Migration(migrations.Migration):
    dependencies = [("reports", "0003_exposure_groups")]

    operations = [
        migrations.AddField("result", "rank", models.PositiveSmallIntegerField(default=3)),
        migrations.AddField("result", "p_not_met", models.FloatField(null=True)),
        migrations.AddField("result", "reach", models.FloatField(default=0)),
        migrations.RunPython(fill, migrations.RunPython.noop, elidable=True),
    ]
