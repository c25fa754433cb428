"""Short ways to ask the pages of collecting for things, and to see what they say."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from campaigns.models import Campaign, User

Browse = Callable[[User | None], Client]
JSON = {"Accept": "application/json"}


def send(client: Client, campaign: Campaign, *files: tuple[str, bytes | str], script: bool = False, **more: Any) -> Any:
    """POST ``files`` (name, content) to the campaign's uploads, as a form or as the page's script does."""
    bodies = [SimpleUploadedFile(name, c.encode() if isinstance(c, str) else c) for name, c in files]
    address = reverse("uploads", args=[campaign.key])
    return client.post(address, {"file": bodies, **more}, headers=JSON if script else {})


def at(route: str, row: Any, *more: Any) -> str:
    return reverse(route, args=[row.key, *more])


def text(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


def messages(answer: Any) -> list[str]:
    """What the page after a redirect says at its head."""
    return [str(message) for message in answer.context["messages"]]
