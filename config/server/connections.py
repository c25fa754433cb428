"""Connections, and how long one may keep the server waiting.

Bodies are received and answers are sent by one loop that waits for nobody; threads only work. What is left to limit is
how many connections there are, how long a head or a body may take, and how long an answer waits for a reader that takes
nothing: an export of many megabytes holds a thread while its reader stalls.
"""

from __future__ import annotations

import time
from typing import Any

from waitress.channel import HTTPChannel
from waitress.server import TcpWSGIServer

from config.server.bodies import MeasuredRequest
from config.server.proxies import Network, is_trusted

#: Seconds within which the head of a request has to be there.
HEAD_S = 15
#: Seconds over which a body or an answer that makes less way than PACE is given up.
PATIENCE_S = 30
#: Bytes a second, far below the slowest line that somebody would wait for.
PACE = 512
#: Between two looks at the connections, s.
LOOK_S = 2


class PatientChannel(HTTPChannel):  # type: ignore[misc]  # waitress tells no types
    """A connection that knows what has gone through it, and since when it has not."""

    parser_class = MeasuredRequest

    def __init__(self, *args: Any, **more: Any) -> None:
        self.moved = 0
        self.seen = 0
        self.slow_since: float | None = None
        self.head_since: float | None = None
        super().__init__(*args, **more)
        if self.server.has_too_many(self):
            self.will_close = True

    def received(self, data: bytes) -> bool:
        self.moved += len(data)
        if self.request is None and self.head_since is None:
            self.head_since = time.monotonic()
        taken: bool = super().received(data)
        if self.request is None or self.request.headers_finished:
            self.head_since = None
        return taken

    def send(self, data: bytes, do_close: bool = True) -> int:
        sent: int = super().send(data, do_close=do_close)
        self.moved += sent or 0
        return sent

    def is_waited_for(self) -> bool:
        """Whether the other side is the one that has to do something: send the rest, or take what is ready. While a
        view works on it, nothing more is received, and what is ready goes out in pieces of a fair size."""
        if self.requests:
            return bool(self.total_outbufs_len >= self.adj.send_bytes)
        half_here = self.request is not None and self.request.headers_finished
        return bool(half_here or self.total_outbufs_len)

    def keeps_waiting(self, now: float) -> bool:
        """Looked at every LOOK_S: whether it has used up what patience there is. now: s, monotonic."""
        fresh = not self.requests and self.moved == 0
        head_since = self.opened if fresh else self.head_since
        if head_since is not None and now - head_since > HEAD_S:
            return True
        pace, self.seen = (self.moved - self.seen) / LOOK_S, self.moved
        if not self.is_waited_for() or pace >= PACE:
            self.slow_since = None
            return False
        if self.slow_since is None:
            self.slow_since = now
        return now - self.slow_since > PATIENCE_S

    @property
    def opened(self) -> float:
        """When the connection came, s, monotonic."""
        return time.monotonic() - (time.time() - float(self.creation_time))


class PatientServer(TcpWSGIServer):  # type: ignore[misc]  # waitress tells no types
    """Gives up connections that keep it waiting, and those of an address that has too many."""

    channel_class = PatientChannel
    #: Of one address; a proxy speaks for many.
    most_of_one = 256
    proxies: tuple[Network, ...] = ()

    def maintenance(self, now: float) -> None:
        super().maintenance(now)
        moment = time.monotonic()
        for channel in list(self.active_channels.values()):
            if channel.keeps_waiting(moment):
                channel.will_close = True
                channel.handle_close()  # at once: the loop would wait until its reader takes something

    def has_too_many(self, channel: PatientChannel) -> bool:
        """Whether the address of a new connection has as many as it may have already."""
        peer = channel.addr[0]
        same = sum(1 for other in self.active_channels.values() if other.addr and other.addr[0] == peer)
        return same > self.most_of_one and not is_trusted(peer, self.proxies)
