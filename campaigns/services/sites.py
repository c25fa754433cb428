"""A site that changes hands: what was released to its client stays with them, and whoever changes it knows."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError

from campaigns.models import Site
from campaigns.services.records import all_or_nothing, current, save_changed
from campaigns.signals import client_changes


def what_a_new_client_means(site: Site) -> str:
    """Sentences for whoever gives the site another client; "" when nothing hangs on the present one."""
    return " ".join(words for _, words in client_changes.send(Site, site=site) if words)


def change_site(site: Site, *, client_confirmed: bool, **changes: Any) -> Site:
    """Raises ValidationError, by field, also when the client was to become another one and that is not confirmed."""
    with all_or_nothing(Site):
        stands = current(site)
        wanted = changes.get("client", stands.client)
        if wanted != stands.client and not client_confirmed and (words := what_a_new_client_means(stands)):
            raise ValidationError({"client_confirmed": words})
        return save_changed(site, **changes)
