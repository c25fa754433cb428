"""The cache that several web processes share, in the Redis that also carries the jobs."""

from __future__ import annotations

from django.core.cache.backends.redis import RedisCache


class OwnKeys(RedisCache):
    """Clearing removes what is this installation's own. Django's would empty the whole database, queues included."""

    def clear(self) -> None:
        client = self._cache.get_client(None, write=True)
        for key in client.scan_iter(match=f"{self.key_prefix}:*", count=1000):
            client.delete(key)
