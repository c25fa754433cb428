"""Whether a limit is in force follows its dates: they are in the table, beside what its status says.

The dates come from the data files, which are brought into the table after every migration.
"""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('campaigns', '0003_probes'),
    ]

    operations = [
        migrations.RenameField(model_name='limit', old_name='in_force', new_name='is_standing'),
        migrations.AlterField(
            model_name='limit',
            name='is_standing',
            field=models.BooleanField(default=True, editable=False, help_text='Neither superseded nor a draft; the dates are another matter.'),
        ),
        migrations.AddField(model_name='limit', name='valid_from', field=models.DateField(editable=False, null=True)),
        migrations.AddField(model_name='limit', name='valid_to', field=models.DateField(editable=False, null=True)),
    ]
