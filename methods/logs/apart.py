"""Work on a hostile file in a process of its own, with limits on memory and time: a fork of this one.

What a workbook or a document asks for is known only when a library has taken it apart. A process that runs into its
limits ends alone, and says nothing; who waits for it is told that the file asked for too much. Where the system cannot
fork safely (Windows, macOS) the work is done here, and only the counts of elements stand between a file and the memory.
"""

from __future__ import annotations

import gc
import io
import os
import pickle
import signal
import traceback
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing import Pipe as pipe_of
from multiprocessing.connection import Connection
from typing import Any, NoReturn, TypeVar

from methods.logs.files.sources import MEGABYTE, refuse
from methods.logs.types import LogProblem, Unreadable

T = TypeVar("T")


@dataclass(frozen=True)
class ProcessBounds:
    """``memory``: bytes beyond what the process begins with; ``seconds`` of a processor."""

    memory: int
    seconds: int


#: A workbook of a million rows is understood in a second and 40 MB, or in half a minute where its order of day and
#: month has to be looked for in all of it.
UNDERSTANDING = ProcessBounds(1024 * MEGABYTE, 240)
#: All of a file; what it takes is stored meanwhile.
READING = ProcessBounds(1024 * MEGABYTE, 3600)
#: For a page that somebody waits for.
LOOKING = ProcessBounds(512 * MEGABYTE, 20)

#: What comes back is read as these and as plain values, and as nothing else: the file may have taken the process over.
_ARRAYS = frozenset(("_reconstruct", "ndarray", "dtype", "_frombuffer", "scalar"))
_PLAIN = frozenset((("datetime", "date"), ("datetime", "datetime"), ("builtins", "frozenset"), ("builtins", "set")))

_is_apart = False


def can_fork() -> bool:
    """Not on Windows; macOS forks unwillingly. A process that is apart already works where it is."""
    return hasattr(os, "sched_getaffinity") and not _is_apart


def apart(work: Callable[[], Iterable[T]], bounds: ProcessBounds) -> Iterator[T]:
    """What ``work`` gives, piece by piece, made in a process of its own.

    Raises Unreadable as ``work`` does, and where it ran into its ``bounds``; OSError for a failing disk; RuntimeError
    for any other error.
    The process ends with the last piece, or when nobody wants another.
    """
    if not can_fork():
        yield from work()
        return
    here, there = pipe_of(duplex=False)
    pid = os.fork()
    if pid == 0:
        _work_and_end(work, bounds, here, there)
    there.close()
    try:
        yield from _received(here)
    finally:
        here.close()
        with suppress(ProcessLookupError, ChildProcessError):
            os.kill(pid, signal.SIGKILL)
            os.waitpid(pid, 0)


def one_apart(work: Callable[[], T], bounds: ProcessBounds) -> T:
    """The one thing that ``work`` makes; see ``apart``."""
    (found,) = apart(lambda: [work()], bounds)
    return found


def too_much() -> Unreadable:
    return refuse(
        "too_much",
        "The file asks for more memory or time than any log needs. It was not read: export the readings as text (CSV), "
        "or save only the sheet with the readings.",
    )


def _received(pipe: Connection) -> Iterator[Any]:
    while True:
        try:
            what, sent = _Plain(io.BytesIO(pipe.recv_bytes())).load()
        except (EOFError, ConnectionError):  # killed by a limit
            raise too_much() from None
        if what == "piece":
            yield sent
        elif what == "unreadable":
            raise Unreadable(*(LogProblem(*problem) for problem in sent))
        elif what == "too-much":
            raise too_much()
        elif what == "system":
            raise OSError(*sent)
        elif what == "error":
            raise RuntimeError(f"in the process of a file: {sent}")
        else:
            return


def _work_and_end(
    work: Callable[[], Iterable[T]], bounds: ProcessBounds, not_its: Connection, pipe: Connection
) -> NoReturn:
    """In the new process. Whatever happens, it never returns into the code that it is a copy of."""
    global _is_apart
    try:
        _is_apart = True
        not_its.close()
        gc.freeze()  # what was inherited stays: connections of the parent are not closed here
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGALRM):
            with suppress(ValueError):  # not the main thread of the interpreter
                signal.signal(number, signal.SIG_DFL)
        limit(bounds)
        _send(work, pipe)
    except BaseException:  # noqa: S110 - nobody listens any more
        pass
    finally:
        os._exit(0)


def _send(work: Callable[[], Iterable[T]], pipe: Connection) -> None:
    try:
        for piece in work():
            _say(pipe, "piece", piece)
        _say(pipe, "end", None)
    except Unreadable as error:
        _say(pipe, "unreadable", [(p.line, p.column, p.value, p.code, p.message) for p in error.problems])
    except (MemoryError, RecursionError):
        gc.collect()
        _say(pipe, "too-much", None)
    except (BrokenPipeError, ConnectionError):
        raise
    except OSError as error:
        _say(pipe, "system", (error.errno, error.strerror))
    except Exception:
        _say(pipe, "error", traceback.format_exc(limit=-6)[-4000:])


def _say(pipe: Connection, what: str, sent: Any) -> None:
    pipe.send_bytes(pickle.dumps((what, sent), protocol=5))


def limit(bounds: ProcessBounds) -> None:
    """Of this process, from now on; as far as the system lets it."""
    import resource

    with open("/proc/self/statm") as said:
        held = int(said.read().split()[0]) * resource.getpagesize()
    for what, most in (
        (resource.RLIMIT_AS, held + bounds.memory),
        (resource.RLIMIT_CPU, bounds.seconds),
        (resource.RLIMIT_CORE, 0),
    ):
        _, hard = resource.getrlimit(what)
        allowed = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(what, (allowed, allowed))


class _Plain(pickle.Unpickler):
    """Reads values, arrays and the records of this package."""

    def find_class(self, module: str, name: str) -> Any:
        is_array = module.startswith("numpy") and name in _ARRAYS
        found = super().find_class(module, name) if is_array or (module, name) in _PLAIN else None
        if found is None and module.startswith("methods.logs."):
            found = super().find_class(module, name)
            found = found if isinstance(found, type) else None
        if found is None:
            raise pickle.UnpicklingError(f"{module}.{name} is not taken from the process of a file")
        return found
