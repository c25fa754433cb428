from django.db import migrations, models


def forget_what_no_room_has(apps, schema_editor):
    """Slips of a unit or of a decimal point, which nothing else was worked out from."""
    room = apps.get_model("campaigns", "Room")
    room.objects.filter(area_m2__gt=1_000_000).update(area_m2=None)
    room.objects.filter(height_m__gt=500).update(height_m=None)


class Migration(migrations.Migration):
    dependencies = [
        ("campaigns", "0018_jobs_wait_and_are_overtaken"),
    ]

    operations = [
        migrations.RunPython(forget_what_no_room_has, migrations.RunPython.noop),
        migrations.AddConstraint(
            model_name="room",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("area_m2__isnull", True), ("area_m2__lte", 1000000), _connector="OR"),
                    models.Q(("height_m__isnull", True), ("height_m__lte", 500), _connector="OR"),
                ),
                name="room_size_bounded",
                violation_error_message="No room is larger than 1,000,000 m² or higher than 500 m.",
            ),
        ),
    ]
