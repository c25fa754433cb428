"""What a line of the log looks like, and what never gets into one.

Everything is logged by the standard library; structlog makes the lines, so that those of libraries have the same shape.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from typing import Any
from urllib.parse import quote

import structlog
from structlog.stdlib import ProcessorFormatter
from structlog.typing import EventDict, Processor

HIDDEN = "[hidden]"
#: A secret of the settings that is shorter is a word, and would be taken out of every sentence.
SHORTEST_SECRET = 6
#: What code alone says: a password that is a word there is no secret.
OURS = frozenset({"timestamp", "level", "logger"})
#: What a line of text ends with.
LAST = ("request", "job")
_NAMES = r"pass(?:word|wd)|secret|token|cookie|authori[sz]ation|session|fanlight_seat|credential|api_?key|csrf|x-amz-"
_SECRET_NAME = re.compile(rf"{_NAMES}|signature", re.IGNORECASE)
_HEADER = r"(?:set-)?cookie|(?:proxy-)?authorization"
_ASSIGNED = r"['\"]?\s*[=:]\s*['\"]?"
_REST = r"[^\s\"'<>]+"
#: What is hidden in any text, in this order.
_IN_TEXT: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern, re.IGNORECASE), instead)
    for pattern, instead in (
        (rf"\b((?:{_HEADER}){_ASSIGNED})[^\n]+", rf"\1{HIDDEN}"),  # to the end of the line (RFC 9110; RFC 6265)
        (r"\b(bearer|basic)\s+[\w.~+/=-]{8,}", rf"\1 {HIDDEN}"),
        (r"\bfl_[\w-]{20,}", HIDDEN),  # a token of ours, wherever it stands
        (r"(://)[^\s/@]*:\S+@", rf"\1{HIDDEN}@"),  # user and password of an address
        (rf"(/password/set/){_REST}", rf"\1{HIDDEN}"),  # whoever has it sets the password
        (rf"(/[^\s?\"'<>]*\?){_REST}", rf"\1{HIDDEN}"),  # of signed addresses; and what people look for
        (rf"([\w-]*(?:{_NAMES})[\w-]*{_ASSIGNED})[^\s;&,'\"]+", rf"\1{HIDDEN}"),  # SOME_SECRET_KEY=…
    )
)


class WithoutSecrets:
    """Hides what looks like a secret by its place or its name, and ``known`` ones wherever they stand."""

    def __init__(self, known: Iterable[str] = ()) -> None:
        long = {secret for secret in known if len(secret) >= SHORTEST_SECRET}
        written = {form for secret in long for form in (secret, quote(secret, safe=""), repr(secret)[1:-1])}
        self._known = sorted(written, key=len, reverse=True)

    def __call__(self, logger: Any, method: str, event: EventDict) -> EventDict:
        return {name: value if name in OURS else self.value(name, value) for name, value in event.items()}

    def value(self, name: str, value: Any) -> Any:
        if _SECRET_NAME.search(name):
            return HIDDEN
        if value is None or isinstance(value, int | float):
            return value
        if isinstance(value, dict):
            return {str(key): self.value(str(key), part) for key, part in value.items()}
        return self.text(str(value))

    def text(self, text: str) -> str:
        for secret in self._known:
            text = text.replace(secret, HIDDEN)
        for pattern, instead in _IN_TEXT:
            text = pattern.sub(instead, text)
        return text


def as_text(logger: Any, method: str, event: EventDict) -> str:
    """One line, and below it the traceback where there is one. What came from outside begins no line of its own."""
    moment, level, name = (event.pop(key, "") for key in ("timestamp", "level", "logger"))
    said, trace = event.pop("event", ""), event.pop("exception", "")
    names = sorted(event, key=lambda key: LAST.index(key) if key in LAST else -1)  # all others as they were given
    more = "".join(f" {key}={_one_word(event[key])}" for key in names)
    line = f"{moment} {str(level).upper()} {name}: {_one_line(str(said))}{more}"
    return f"{line}\n{trace}" if trace else line


def _one_line(text: str) -> str:
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def _one_word(value: Any) -> str:
    text = str(value)
    return text if re.fullmatch(r"[^\s\"=]+", text) and text.isprintable() else json.dumps(text)


def as_json(logger: Any, method: str, event: EventDict) -> str:
    return json.dumps(event, default=str)


def formatter(shape: str, secrets: Iterable[str]) -> ProcessorFormatter:
    """``shape``: text or json. ``secrets``: what must not be in any line."""
    render: Processor = as_json if shape == "json" else as_text
    return ProcessorFormatter(
        foreign_pre_chain=BEFORE,
        processors=[
            ProcessorFormatter.remove_processors_meta,
            structlog.processors.format_exc_info,
            WithoutSecrets(secrets),
            render,
        ],
    )


#: What every line has, whoever logs it: level, logger, moment, and the request and the job it belongs to.
BEFORE: tuple[Processor, ...] = (
    structlog.contextvars.merge_contextvars,
    structlog.stdlib.add_log_level,
    structlog.stdlib.add_logger_name,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
)

structlog.configure(
    processors=[structlog.stdlib.filter_by_level, *BEFORE, ProcessorFormatter.wrap_for_formatter],
    logger_factory=structlog.stdlib.LoggerFactory(),
    wrapper_class=structlog.stdlib.BoundLogger,
    cache_logger_on_first_use=False,
)


def settings_of(shape: str, level: str, secrets: Iterable[str]) -> dict[str, Any]:
    """LOGGING (``logging.config.dictConfig``)."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"line": {"()": formatter, "shape": shape, "secrets": tuple(secrets)}},
        "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
        "root": {"handlers": ["console"], "level": level},
    }
