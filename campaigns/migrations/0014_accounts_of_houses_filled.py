"""Each account gets its key, its house and the normal spelling of its address; what let people in who have no role any
more ends."""

import uuid

from django.contrib.auth.hashers import make_password
from django.db import migrations
from django.db.models import Q
from django.utils import timezone

from campaigns.models.addresses import normal_address


def fill(apps, schema_editor):
    User, Membership = apps.get_model("campaigns", "User"), apps.get_model("campaigns", "Membership")
    taken = set()
    for user in User.objects.order_by("pk"):
        houses = list(Membership.objects.filter(user=user).values_list("organisation", flat=True)[:2])
        user.key = uuid.uuid4()
        user.house_id = houses[0] if len(houses) == 1 and not user.is_superuser else None
        spelled = normal_address(user.email)
        if (spelled, user.house_id) in taken:  # "ſam@…" beside "sam@…": the second was never meant to be another
            spelled, user.is_active = f"switched-off-{user.pk}.{spelled}"[-254:], False
        user.email = spelled
        taken.add((spelled, user.house_id))
        if not user.is_active or not (houses or user.is_superuser):
            user.password = make_password(None)
        user.save()


def end_tokens(apps, schema_editor):
    ApiToken, Membership = apps.get_model("campaigns", "ApiToken"), apps.get_model("campaigns", "Membership")
    now = timezone.now()
    running = Q(expires_at__isnull=True) | Q(expires_at__gt=now)
    for token in ApiToken.objects.filter(running, made_by__isnull=False):
        plans = Membership.objects.filter(user=token.made_by_id, organisation=token.organisation_id, role="consultant")
        if not plans.exists():
            token.expires_at = now
            token.save(update_fields=["expires_at"])


class Migration(migrations.Migration):
    dependencies = [("campaigns", "0013_accounts_of_houses")]

    operations = [
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.RunPython(end_tokens, migrations.RunPython.noop),
    ]
