"""The shared cache and the job queues live in one Redis: neither may empty the other."""

from __future__ import annotations

import uuid
from pathlib import Path

import pytest
import redis

from config.cache import OwnKeys
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
