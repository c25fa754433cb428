"""What passes by itself: failures of what work stands on, after which the same work may succeed as it is.

A connection that was lost, a deadlock, a disk that is full, a storage that does not answer: none of them says anything
about a file or a campaign. Everything else is taken for a fault of ours, and is not tried again.
"""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass

from django.db import InterfaceError, OperationalError

from campaigns.parallel import HandLost


@dataclass(frozen=True)
class Hiccup:
    """A stable code, and a sentence for people."""

    code: str
    words: str


AWAY = Hiccup("database-away", "The connection to the database was lost.")
BUSY = Hiccup("database-busy", "The database was held by something else.")
FULL = Hiccup("no-space", "There is no space left to store anything. Tell the operator.")
STORAGE = Hiccup("storage-away", "The place where files are kept did not answer.")
BROKER = Hiccup("broker-away", "The broker of background work did not answer.")
HAND = Hiccup("process-lost", "A process that did part of the work was stopped.")

#: https://www.sqlite.org/rescode.html, primary result codes.
_SQLITE = {
    sqlite3.SQLITE_BUSY: BUSY, sqlite3.SQLITE_LOCKED: BUSY, sqlite3.SQLITE_PROTOCOL: BUSY, sqlite3.SQLITE_FULL: FULL,
    sqlite3.SQLITE_IOERR: AWAY, sqlite3.SQLITE_CANTOPEN: AWAY, sqlite3.SQLITE_NOMEM: AWAY,
}  # fmt: skip
#: PostgreSQL, appendix A: classes of SQLSTATE that pass, and the states that say it more closely.
_STATES = {"53100": FULL, "40001": BUSY, "40P01": BUSY, "55P03": BUSY}
_CLASSES = {"08": AWAY, "40": BUSY, "53": AWAY, "57": AWAY, "58": AWAY}
_FULL = frozenset((errno.ENOSPC, errno.EDQUOT))
_AWAY = frozenset((
    errno.EIO, errno.ESTALE, errno.ETIMEDOUT, errno.ECONNREFUSED, errno.ECONNRESET, errno.ECONNABORTED, errno.EPIPE,
    errno.EHOSTUNREACH, errno.ENETUNREACH, errno.ENETDOWN, errno.EAGAIN, errno.ENOMEM, errno.EMFILE, errno.ENFILE,
    errno.EBUSY, errno.EROFS, errno.ENOTCONN,
))  # fmt: skip
#: Errors of libraries that need not be installed, by their modules and names.
_FOREIGN = {
    ("botocore.exceptions", "HTTPClientError"): STORAGE,
    ("botocore.exceptions", "ConnectionError"): STORAGE,
    ("kombu.exceptions", "OperationalError"): BROKER,
    ("redis.exceptions", "ConnectionError"): BROKER,
    ("redis.exceptions", "TimeoutError"): BROKER,
}
_STORAGE_FAULT = 500


def hiccup_of(error: BaseException) -> Hiccup | None:
    """What passed by, if ``error`` or what it came from is of that kind; None for everything else."""
    for one in _chain(error):
        if (found := _database(one) or _system(one) or _foreign(one)) is not None:
            return found
    return None


def _chain(error: BaseException) -> Iterator[BaseException]:
    seen: set[int] = set()
    one: BaseException | None = error
    while one is not None and id(one) not in seen:
        seen.add(id(one))
        yield one
        one = one.__cause__ or (None if one.__suppress_context__ else one.__context__)


def _database(error: BaseException) -> Hiccup | None:
    if isinstance(error, HandLost):
        return HAND
    if isinstance(error, InterfaceError):
        return AWAY
    if not isinstance(error, OperationalError):
        return None
    cause = error.__cause__
    if isinstance(cause, sqlite3.Error):
        code = getattr(cause, "sqlite_errorcode", None)
        return _SQLITE.get(code & 0xFF) if code is not None else None
    state = getattr(cause, "sqlstate", None)
    if state is None:  # the connection broke before anybody could say why; or it came from another process
        return AWAY if cause is not None else _by_words(str(error))
    return _STATES.get(state) or _CLASSES.get(state[:2])


def _by_words(said: str) -> Hiccup | None:
    """An error of a forked process comes without what it was raised from."""
    words = said.lower()
    if "locked" in words or "deadlock" in words or "serialize" in words:
        return BUSY
    if "full" in words or "no space" in words:
        return FULL
    return None if "no such" in words or "syntax" in words else AWAY


def _system(error: BaseException) -> Hiccup | None:
    if not isinstance(error, OSError):
        return None
    if is_full(error):
        return FULL
    is_away = error.errno in _AWAY or isinstance(error, ConnectionError | TimeoutError)
    return STORAGE if is_away else None


def is_full(error: OSError) -> bool:
    """Whether nothing more can be written."""
    return error.errno in _FULL


def _foreign(error: BaseException) -> Hiccup | None:
    for kind in type(error).__mro__:
        if found := _FOREIGN.get((kind.__module__, kind.__qualname__)):
            return found
        if (kind.__module__, kind.__qualname__) == ("botocore.exceptions", "ClientError"):
            status = getattr(error, "response", {}).get("ResponseMetadata", {}).get("HTTPStatusCode", 0)
            return STORAGE if status >= _STORAGE_FAULT or status == 429 else None
    return None
