"""The cache that several web processes share, in the Redis that also carries the jobs."""

from __future__ import annotations

import hashlib
import hmac
import logging
import pickle
import time
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.core.cache.backends.redis import RedisCache
from django.core.signing import BadSignature
from redis.exceptions import ConnectionError, RedisError, TimeoutError

log = logging.getLogger(__name__)

#: After a failure it is left alone for so long, s: waiting for it anew on every page would stop them all.
REST_S = 5.0
AWAY = (ConnectionError, TimeoutError)
SIGNATURE_BYTES = hashlib.sha256().digest_size


class Signed:
    """How values are kept: pickled, and signed with the secret key, so that whoever can write into that Redis can make
    this process forget but not run what they like. Numbers are plain, since Redis itself counts them up."""

    def dumps(self, value: Any) -> bytes | int:
        if type(value) is int:
            return value
        told = pickle.dumps(value, pickle.HIGHEST_PROTOCOL)
        return _signature(told) + told

    def loads(self, kept: bytes) -> Any:
        """Raises BadSignature."""
        try:
            return int(kept)
        except ValueError:
            pass
        signature, told = kept[:SIGNATURE_BYTES], kept[SIGNATURE_BYTES:]
        if not hmac.compare_digest(signature, _signature(told)):
            raise BadSignature("A value of the cache is not ours.")
        return pickle.loads(told)  # noqa: S301 - signed by us


def _signature(told: bytes) -> bytes:
    key = f"config.cache {settings.SECRET_KEY}".encode()
    return hmac.digest(key, told, hashlib.sha256)


class OwnKeys(RedisCache):
    """Pages and the API go on while it is away: what is asked of it is not there, what is given to it is dropped.

    So requests of a token are not counted meanwhile; what must never be open counts in the database.
    """

    _rests_until = 0.0

    def clear(self) -> None:
        """Removes what is this installation's own. Django's would empty the whole database, queues included."""
        self._try(self._clear_own, None)

    def _clear_own(self) -> None:
        client = self._cache.get_client(None, write=True)
        for key in client.scan_iter(match=f"{self.key_prefix}:*", count=1000):
            client.delete(key)

    def _try(self, ask: Callable[[], Any], otherwise: Any) -> Any:
        if time.monotonic() < self._rests_until:
            return otherwise
        try:
            return ask()
        except AWAY as error:
            type(self)._rests_until = time.monotonic() + REST_S
            log.warning("The cache is away (%s): pages go on without it.", type(error).__name__)
        except (RedisError, BadSignature):
            log.exception("The cache cannot be used: pages go on without it.")
        return otherwise

    def add(self, *args: Any, **more: Any) -> bool:
        return bool(self._try(lambda: super(OwnKeys, self).add(*args, **more), True))

    def get(self, key: Any, default: Any = None, version: int | None = None) -> Any:
        return self._try(lambda: super(OwnKeys, self).get(key, default, version), default)

    def set(self, *args: Any, **more: Any) -> None:
        self._try(lambda: super(OwnKeys, self).set(*args, **more), None)

    def touch(self, *args: Any, **more: Any) -> bool:
        return bool(self._try(lambda: super(OwnKeys, self).touch(*args, **more), False))

    def delete(self, *args: Any, **more: Any) -> bool:
        return bool(self._try(lambda: super(OwnKeys, self).delete(*args, **more), False))

    def get_many(self, *args: Any, **more: Any) -> dict[str, Any]:
        found: dict[str, Any] = self._try(lambda: super(OwnKeys, self).get_many(*args, **more), {})
        return found

    def has_key(self, *args: Any, **more: Any) -> bool:
        return bool(self._try(lambda: super(OwnKeys, self).has_key(*args, **more), False))

    def incr(self, key: Any, delta: int = 1, version: int | None = None) -> int:
        counted: int = self._try(lambda: super(OwnKeys, self).incr(key, delta, version), delta)
        return counted

    def set_many(self, *args: Any, **more: Any) -> list[Any]:
        return list(self._try(lambda: super(OwnKeys, self).set_many(*args, **more), []))

    def delete_many(self, *args: Any, **more: Any) -> None:
        self._try(lambda: super(OwnKeys, self).delete_many(*args, **more), None)
