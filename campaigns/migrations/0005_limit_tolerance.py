from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('campaigns', '0004_limits_have_dates'),
    ]

    operations = [
        migrations.AddField(
            model_name='limit',
            name='tolerance',
            field=models.DecimalField(blank=True, decimal_places=3, help_text='As a share, where the rule itself lets a result pass its value by so much: 0.2 for 20 %.', max_digits=4, null=True),
        ),
        migrations.AddConstraint(
            model_name='limit',
            constraint=models.CheckConstraint(condition=models.Q(('tolerance__isnull', True), models.Q(('tolerance__gt', 0), ('tolerance__lt', 1)), _connector='OR'), name='limit_tolerance_is_a_share', violation_error_message='A tolerance is a share between 0 and 1, such as 0.2.'),
        ),
    ]
