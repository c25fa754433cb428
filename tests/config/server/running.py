"""A server of ours on a port of this host, around a small application, with plain sockets before it."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from config.server.connections import PatientServer
from config.server.listening import listening

MEGABYTE = b"x" * 1024 * 1024


def application(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
    """/stream: 64 MiB in pieces; elsewhere what it was told of the request."""
    start_response("200 OK", [("Content-Type", "text/plain")])
    if environ["PATH_INFO"] == "/stream":
        return (MEGABYTE for _ in range(64))
    length = len(environ["wsgi.input"].read())
    return [f"{environ['wsgi.url_scheme']} {environ['REMOTE_ADDR']} {length}".encode()]


@contextmanager
def running(threads: int = 4, app: Any = application) -> Iterator[PatientServer]:
    server = listening(app, "127.0.0.1", 0, threads)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        yield server
    finally:
        for channel in list(server.active_channels.values()):
            channel.will_close = True
        server.accepting = False
        server.task_dispatcher.shutdown(timeout=1)
        server.pull_trigger()
        thread.join(0.1)


def connected(server: PatientServer) -> socket.socket:
    return socket.create_connection(("127.0.0.1", int(server.effective_port)), timeout=10)


def ask(server: PatientServer, path: str = "/", *lines: str, body: bytes = b"") -> tuple[int, bytes, float]:
    """Status, what was answered, and how long it took, s."""
    started = time.monotonic()
    head = [f"POST {path} HTTP/1.1", "Host: localhost", f"Content-Length: {len(body)}", "Connection: close", *lines]
    with connected(server) as line:
        line.sendall("\r\n".join([*head, "", ""]).encode() + body)
        answer = b"".join(iter(lambda: line.recv(65536), b""))
    return int(answer.split()[1]), answer.partition(b"\r\n\r\n")[2], time.monotonic() - started


def is_closed(line: socket.socket, within: float) -> bool:
    """Whether the server ends the connection within so many seconds."""
    line.settimeout(within)
    try:
        while line.recv(65536):
            pass
    except TimeoutError:
        return False
    except OSError:
        return True
    return True
