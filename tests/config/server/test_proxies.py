"""Scheme and address are taken from the proxies that were named, and from nobody else."""

from __future__ import annotations

from unittest.mock import patch

import pytest
from django.conf import settings

from config.server.proxies import is_trusted, network
from tests.config.server.running import ask, running

TOLD = ("X-Forwarded-Proto: https", "X-Forwarded-For: 203.0.113.9")


@pytest.mark.parametrize(
    ("peer", "named", "trusted"),
    [
        ("10.1.2.3", ["10.0.0.0/8"], True),
        ("11.1.2.3", ["10.0.0.0/8"], False),
        ("::ffff:10.1.2.3", ["10.0.0.0/8"], True),
        ("fe80::1%eth0", ["fe80::/10"], True),
        ("::1", ["127.0.0.1"], False),
        ("", ["0.0.0.0/0"], False),
        ("localhost", ["0.0.0.0/0"], False),
        ("127.0.0.1", [], False),
    ],
)
def test_who_is_trusted(peer: str, named: list[str], trusted: bool) -> None:
    assert is_trusted(peer, [network(text) for text in named]) is trusted


def test_a_proxy_that_was_named_is_believed() -> None:
    with patch.object(settings, "PROXIES", [network("127.0.0.0/8")]), running() as server:
        assert ask(server, "/", *TOLD)[1] == b"https 203.0.113.9 0"


def test_of_a_chain_only_the_last_word_counts() -> None:
    forged = "X-Forwarded-For: 198.51.100.1, 203.0.113.9"
    with patch.object(settings, "PROXIES", [network("127.0.0.1")]), running() as server:
        assert ask(server, "/", "X-Forwarded-Proto: https", forged)[1] == b"https 203.0.113.9 0"


def test_nobody_else_is() -> None:
    with patch.object(settings, "PROXIES", [network("10.0.0.0/8")]), running() as server:
        assert ask(server, "/", *TOLD)[1] == b"http 127.0.0.1 0"
