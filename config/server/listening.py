"""The server of the pages, ready to run."""

from __future__ import annotations

import sys
from typing import Any

from django.conf import settings
from waitress.adjustments import Adjustments
from waitress.task import ThreadedTaskDispatcher

from config.server.bodies import OF_PEOPLE
from config.server.connections import LOOK_S, PatientServer
from config.server.proxies import Application, behind
from config.server.streams import open_for

#: Open at once; far above the threads, since one that waits needs none.
CONNECTIONS = 1000
#: Files that a process needs besides: database, logs, what is read and written just now.
OTHER_FILES = 200
#: An idle connection is closed after so long, s.
IDLE_S = 60
#: What is ready of one answer may wait in a file of this size, bytes; an export that fits ends at once, however slow
#: its reader.
WAITING_BYTES = 16 * 1024 * 1024


def listening(application: Application, host: str, port: int, threads: int) -> PatientServer:
    """A server bound to ``host`` and ``port``. Raises OSError where that cannot be."""
    adjusted = Adjustments(
        host=host,
        port=port,
        threads=threads,
        max_request_body_size=OF_PEOPLE,  # of each request its own: config.server.bodies
        outbuf_high_watermark=WAITING_BYTES,
        connection_limit=_connections(),
        channel_timeout=IDLE_S,
        cleanup_interval=LOOK_S,
        asyncore_use_poll=True,
        clear_untrusted_proxy_headers=False,  # ``behind`` does, and knows networks, too
        ident="fanlight",
    )
    open_for(threads)
    dispatcher = ThreadedTaskDispatcher()
    dispatcher.set_thread_count(threads)
    trusting = behind(application, settings.PROXIES)
    sockets: dict[int, Any] = {}  # a name may stand for several addresses: one loop looks after all
    for address in adjusted.listen:
        server = PatientServer(trusting, sockets, dispatcher=dispatcher, adj=adjusted, sockinfo=address)
        server.proxies = tuple(settings.PROXIES)
    return server


def _connections() -> int:
    """As many as the process may have files for, each with one of its own for what waits."""
    if sys.platform == "win32":
        return CONNECTIONS
    import resource

    least, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = 2 * CONNECTIONS + OTHER_FILES
    if least < wanted:
        least = wanted if most == resource.RLIM_INFINITY else min(wanted, most)
        resource.setrlimit(resource.RLIMIT_NOFILE, (least, most))
    return max(50, (least - OTHER_FILES) // 2)
