from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('campaigns', '0005_limit_tolerance'),
    ]

    operations = [
        migrations.AddField(model_name='limitcheck', name='edition', field=models.CharField(blank=True, max_length=100)),
        migrations.AddField(model_name='limitcheck', name='page', field=models.CharField(blank=True, max_length=60)),
    ]
