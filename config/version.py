"""Which Fanlight this is: told to whoever has logged in or shows a token, and to nobody else."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path

from django.http import HttpRequest, HttpResponseBase

HEADER = "Fanlight-Version"


def _read() -> str:
    """From pyproject.toml beside the code, or, where Fanlight was installed as a package, from that."""
    try:
        project = tomllib.loads((Path(__file__).resolve().parents[1] / "pyproject.toml").read_text(encoding="utf-8"))
    except FileNotFoundError:
        return version("fanlight")
    return str(project["project"]["version"])


VERSION = _read()


def context(request: HttpRequest) -> dict[str, str]:
    """``version``, for the foot of the page."""
    user = getattr(request, "user", None)
    return {"version": VERSION} if user is not None and user.is_authenticated else {}


class VersionOfApi:
    """What answers a program that showed a valid token."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        if getattr(request, "auth", None) is not None:
            response[HEADER] = VERSION
        return response
