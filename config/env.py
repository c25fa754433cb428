"""Strict readers of environment variables. Pure.

A setting that is wrong stops the start with a sentence naming the variable, the value and what is expected;
nothing is silently replaced by a default.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping
from ipaddress import ip_address
from pathlib import Path
from urllib.parse import urlsplit

from config.server.proxies import Network, network

TRUE = frozenset({"1", "true", "yes", "on"})
FALSE = frozenset({"0", "false", "no", "off"})
#: Labels of a name (RFC 1123, 2.1), with a dot before it for all names below; "*" is any.
HOST = re.compile(r"\*|\.?[a-z0-9_]([a-z0-9_-]{0,61}[a-z0-9])?(\.[a-z0-9_]([a-z0-9_-]{0,61}[a-z0-9])?)*", re.IGNORECASE)


class BadSetting(SystemExit):
    """An environment variable holds something that cannot be meant. Ends the process with its sentence, whichever it
    is: web server, worker or command."""

    def __init__(self, name: str, value: str, expected: str) -> None:
        super().__init__(f"{name}={value!r}: expected {expected}.")


class Env:
    """Reads one mapping (``os.environ`` unless told otherwise). An empty value counts as not set."""

    def __init__(self, source: Mapping[str, str] | None = None) -> None:
        self._source = os.environ if source is None else source

    def text(self, name: str, default: str = "") -> str:
        return self._source.get(name, "").strip() or default

    def flag(self, name: str, *, default: bool) -> bool:
        value = self.text(name)
        if not value:
            return default
        if value.lower() in TRUE:
            return True
        if value.lower() in FALSE:
            return False
        raise BadSetting(name, value, "yes or no")

    def number(self, name: str, *, default: int, least: int = 0) -> int:
        value = self.text(name)
        if not value:
            return default
        if not value.isdecimal() or int(value) < least:
            raise BadSetting(name, value, f"a whole number of at least {least}")
        return int(value)

    def choice(self, name: str, default: str, choices: tuple[str, ...]) -> str:
        value = self.text(name, default)
        if value not in choices:
            raise BadSetting(name, value, "one of " + ", ".join(choices))
        return value

    def matching(self, name: str, default: str, pattern: str, expected: str) -> str:
        value = self.text(name, default)
        if not re.fullmatch(pattern, value):
            raise BadSetting(name, value, expected)
        return value

    def secret(self, name: str, *, least: int) -> str:
        """What one has to know, or an empty string. What was set is never repeated."""
        value = self.text(name)
        if value and not re.fullmatch(rf"[!-~]{{{least},}}", value):
            raise BadSetting(name, "…", f"at least {least} letters, digits and signs, without spaces")
        return value

    def folder(self, name: str, default: Path) -> Path:
        """A folder, made if it is not there."""
        path = Path(self.text(name) or default).resolve()
        try:
            path.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise BadSetting(name, str(path), f"a folder that can be made ({error.strerror})") from None
        return path

    def names(self, name: str, default: tuple[str, ...] = ()) -> list[str]:
        """A comma-separated list."""
        value = self.text(name)
        return [part.strip() for part in value.split(",") if part.strip()] if value else list(default)

    def hosts(self, name: str, default: tuple[str, ...]) -> list[str]:
        """Names or addresses that a Host header (RFC 9110, 7.2) may hold, without a port; ".air.example" is every name
        below it, too."""
        hosts = self.names(name, default)
        for host in hosts:
            if not (HOST.fullmatch(host) or _is_address(host)):
                raise BadSetting(
                    name, host, "names such as air.example, .air.example or 192.0.2.7, without scheme and port"
                )
        return hosts

    def networks(self, name: str, default: tuple[str, ...] = ()) -> list[Network]:
        """Addresses or networks (RFC 4632), comma separated."""
        found = []
        for text in self.names(name, default):
            try:
                found.append(network(text))
            except ValueError:
                raise BadSetting(name, text, "addresses or networks such as 10.0.0.5 or 172.16.0.0/12") from None
        return found

    def url(self, name: str, *, schemes: tuple[str, ...]) -> str:
        """A URL with one of ``schemes``, or an empty string."""
        value = self.text(name)
        if value and not _is_url(value, schemes):
            # What stands before the @ is a password: it is not repeated.
            shown = value.rsplit("@", 1)[-1]
            raise BadSetting(name, shown, "a URL starting with " + " or ".join(f"{s}://" for s in schemes))
        return value


def origins_of(hosts: Iterable[str]) -> list[str]:
    """Origins (RFC 6454) of ``hosts`` behind TLS on the usual port."""
    return [f"https://*{host}" if host.startswith(".") else f"https://{host}" for host in hosts]


def _is_address(host: str) -> bool:
    try:
        return bool(ip_address(host.removeprefix("[").removesuffix("]")))
    except ValueError:
        return False


def _is_url(value: str, schemes: tuple[str, ...]) -> bool:
    try:
        parts = urlsplit(value)
        return parts.scheme in schemes and (parts.port is None or parts.port > 0)
    except ValueError:  # a port or a host that cannot be one
        return False
