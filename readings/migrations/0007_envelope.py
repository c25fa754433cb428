import django.db.models.deletion
from django.db import migrations, models

# Of readings that are there already nothing is known but where they lie; what falls there is read one by one.
STORED_BEFORE = """
    INSERT INTO readings_envelope (channel_id, upload_id, first_stamp, last_stamp, count)
    SELECT channel_id, upload_id, min(stamp), max(stamp), count(*) FROM readings_reading GROUP BY channel_id, upload_id
"""


def store_as_they_are(apps, schema_editor):
    """Pressing parts together costs as much as writing them, and they are little beside the readings."""
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("ALTER TABLE readings_envelope ALTER COLUMN parts SET STORAGE EXTERNAL")


class Migration(migrations.Migration):

    dependencies = [
        ('campaigns', '0006_order_of_the_plan'),
        ('readings', '0006_read_with'),
    ]

    operations = [
        migrations.CreateModel(
            name='Envelope',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('first_stamp', models.BigIntegerField()),
                ('last_stamp', models.BigIntegerField()),
                ('count', models.BigIntegerField()),
                ('parts', models.BinaryField(null=True)),
                ('channel', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='envelopes', to='campaigns.channel')),
                ('upload', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='envelopes', to='readings.upload')),
            ],
            options={
                'indexes': [models.Index(fields=['channel', 'first_stamp'], name='envelopes_of_channel')],
                'constraints': [models.CheckConstraint(condition=models.Q(('last_stamp__gte', models.F('first_stamp'))), name='envelope_first_before_last', violation_error_message='The last stamp of an envelope is not before the first.'), models.CheckConstraint(condition=models.Q(('count__gt', 0)), name='envelope_of_readings', violation_error_message='There is no envelope of no readings.')],
            },
        ),
        migrations.RunPython(store_as_they_are, migrations.RunPython.noop),
        migrations.RunSQL(STORED_BEFORE, migrations.RunSQL.noop, elidable=True),
    ]
