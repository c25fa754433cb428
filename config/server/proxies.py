"""Which proxy is believed about who asks and by which scheme."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from ipaddress import IPv4Network, IPv6Network, ip_address, ip_network
from typing import Any

from waitress.proxy_headers import proxy_headers_middleware

Network = IPv4Network | IPv6Network
Application = Callable[[dict[str, Any], Any], Iterable[bytes]]

#: What a proxy tells; the name that was asked for stays in Host, which every proxy can pass on.
TOLD = frozenset({"x-forwarded-for", "x-forwarded-proto"})
#: In the environment (PEP 3333) of a request that came from one of them. No header can set it.
TOLD_BY_PROXY = "fanlight.told_by_proxy"


def network(text: str) -> Network:
    """An address or a network in CIDR notation (RFC 4632). Raises ValueError."""
    return ip_network(text, strict=False)


def is_trusted(peer: str, proxies: Iterable[Network]) -> bool:
    """Whether ``peer`` (REMOTE_ADDR) is one of ``proxies``; an IPv4 address written as IPv6 is that address."""
    try:
        address = ip_address(peer.partition("%")[0])
    except ValueError:  # a socket of this host has no address
        return False
    if mapped := getattr(address, "ipv4_mapped", None):
        address = mapped
    return any(address in proxy for proxy in proxies)


def behind(application: Application, proxies: Iterable[Network]) -> Application:
    """``application``, told scheme and address by ``proxies``, whose headers are taken from nobody else."""
    known = tuple(proxies)
    believing = proxy_headers_middleware(application, trusted_proxy="*", trusted_proxy_headers=TOLD)
    doubting = proxy_headers_middleware(application, trusted_proxy=None, clear_untrusted=True)

    def answer(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        environ[TOLD_BY_PROXY] = is_trusted(environ.get("REMOTE_ADDR", ""), known)
        chosen = believing if environ[TOLD_BY_PROXY] else doubting
        answered: Iterable[bytes] = chosen(environ, start_response)
        return answered

    return answer
