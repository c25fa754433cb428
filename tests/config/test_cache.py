"""The shared cache and the job queues live in one Redis: neither may empty the other."""

from __future__ import annotations

import pickle
import uuid
from collections.abc import Iterator
from pathlib import Path
from unittest.mock import patch

import pytest
import redis
from django.core.cache.backends.redis import RedisCache
from django.core.signing import BadSignature

from config.cache import OwnKeys, Signed
from tests.config.starting import settings_with


@pytest.fixture
def server(redis_url: str) -> redis.Redis:
    return redis.Redis.from_url(redis_url)


def test_clearing_leaves_queues_and_other_houses_alone(redis_url: str, server: redis.Redis) -> None:
    queue, mine, other = (f"test-{uuid.uuid4().hex}" for _ in range(3))
    server.rpush(queue, "a job")
    ours = OwnKeys(redis_url, {"KEY_PREFIX": mine})
    theirs = OwnKeys(redis_url, {"KEY_PREFIX": other})
    try:
        for n in range(3):
            ours.set(f"count-{n}", n)
        theirs.set("count", 7)
        ours.clear()
        assert [ours.get(f"count-{n}") for n in range(3)] == [None] * 3
        assert theirs.get("count") == 7
        assert server.llen(queue) == 1
    finally:
        theirs.clear()
        server.delete(queue)


def test_the_settings_take_it_where_there_is_a_redis(tmp_path: Path) -> None:
    shared = settings_with(tmp_path, REDIS_URL="redis://r.example/0", FANLIGHT_QUEUE="house")["CACHES"]["default"]
    assert shared["BACKEND"] == "config.cache.OwnKeys"
    assert shared["KEY_PREFIX"] == "house-cache"
    assert "CACHES" not in settings_with(tmp_path), "one process needs none to share"


def test_what_others_write_there_is_not_run(redis_url: str, server: redis.Redis) -> None:
    ours = OwnKeys(redis_url, {"KEY_PREFIX": f"test-{uuid.uuid4().hex}", "OPTIONS": {"serializer": Signed()}})
    ours.set("series", (1, [2.5, "three"]))
    ours.set("count", 7)
    assert ours.get("series") == (1, [2.5, "three"])
    assert ours.incr("count") == 8
    server.set(ours.make_key("series"), pickle.dumps("theirs"))
    assert ours.get("series", "nothing") == "nothing"
    ours.clear()


@pytest.mark.parametrize("value", [(1, [2.5, "three"]), {"a": None}, "text", 2.5, True])
def test_what_is_signed_comes_back(value: object) -> None:
    kept = Signed().dumps(value)
    assert isinstance(kept, bytes)
    assert Signed().loads(kept) == value
    with pytest.raises(BadSignature):
        Signed().loads(kept[:-1] + bytes([kept[-1] ^ 1]))
    with pytest.raises(BadSignature):
        Signed().loads(pickle.dumps(value))


def test_numbers_are_plain_so_that_they_can_be_counted_up() -> None:
    assert Signed().dumps(7) == 7
    assert Signed().loads(b"7") == 7


class TestAway:
    """A Redis that does not answer: nothing is cached, and nobody waits for it twice."""

    @pytest.fixture
    def away(self) -> Iterator[OwnKeys]:
        cache = OwnKeys("redis://127.0.0.1:1/0", {"OPTIONS": {"socket_connect_timeout": 1}})
        yield cache
        OwnKeys._rests_until = 0.0

    def test_pages_go_on(self, away: OwnKeys) -> None:
        away.set("a", 1)
        assert away.get("a", "other") == "other"
        assert away.get_many(["a"]) == {}
        assert away.add("a", 1)
        assert away.incr("a") == 1
        assert not away.has_key("a")
        away.clear()

    def test_it_is_left_alone_for_a_while(self, away: OwnKeys) -> None:
        away.get("a")
        with patch.object(RedisCache, "get") as asked:
            away.get("a")
        assert not asked.called
