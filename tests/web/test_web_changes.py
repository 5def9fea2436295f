"""The hub of changes: coalescing, bounded, and safe to publish to from another thread."""

import asyncio
import threading
import time
from collections.abc import Callable, Coroutine
from typing import Any

from monitor.web.changes import Change, Changes


def run(scene: Callable[[Changes], Coroutine[Any, Any, None]], seq: int = 0) -> None:
    asyncio.run(asyncio.wait_for(scene(Changes(seq)), 10))


def test_a_change_reaches_who_follows_from_another_thread() -> None:
    async def scene(hub: Changes) -> None:
        following = hub.follow(None, at_least_s=0.01, beat_s=5)
        threading.Timer(0.05, hub.publish, (7, {"tern", "auk"})).start()
        assert await anext(following) == Change(7, ("auk", "tern"))

    run(scene)


def test_what_happens_meanwhile_is_told_together_and_once() -> None:
    async def scene(hub: Changes) -> None:
        following = hub.follow(None, at_least_s=0.2, beat_s=5)
        hub.publish(1, ["tern"])
        began = time.monotonic()
        assert (await anext(following)).vessels == ("tern",)
        for seq in range(2, 500):
            hub.publish(seq, ["tern" if seq % 2 else "auk"])
        assert await anext(following) == Change(499, ("auk", "tern"))
        assert time.monotonic() - began > 0.19
        assert len(hub._changed_at) == 2

    run(scene)


def test_who_comes_back_is_told_what_changed_since() -> None:
    async def scene(hub: Changes) -> None:
        hub.publish(11, ["tern"])
        hub.publish(12, ["auk"])
        assert await anext(hub.follow(11, at_least_s=0, beat_s=1)) == Change(12, ("auk",))
        assert await anext(hub.follow(10, at_least_s=0, beat_s=1)) == Change(12, ("auk", "tern"))

    run(scene, seq=10)


def test_who_comes_back_from_before_what_is_remembered_fetches_everything() -> None:
    async def scene(hub: Changes) -> None:
        hub.publish(11, ["tern"])
        assert await anext(hub.follow(9, at_least_s=0, beat_s=1)) == Change(11, (), everything=True)
        # From the future: the journal was replaced by an older one.
        assert await anext(hub.follow(99, at_least_s=0, beat_s=1)) == Change(11, (), everything=True)

    run(scene, seq=10)


def test_without_changes_there_is_a_beat() -> None:
    async def scene(hub: Changes) -> None:
        assert await anext(hub.follow(None, at_least_s=1, beat_s=0.05)) == Change(3, ())

    run(scene, seq=3)


def test_closing_ends_every_stream_at_once() -> None:
    async def scene(hub: Changes) -> None:
        async def count() -> int:
            return len([change async for change in hub.follow(None, at_least_s=60, beat_s=60)])

        waiting = [asyncio.create_task(count()) for _ in range(3)]
        await asyncio.sleep(0.05)
        assert hub.followers == 3
        threading.Thread(target=hub.close).start()
        assert await asyncio.gather(*waiting) == [0, 0, 0]
        assert hub.followers == 0

    run(scene)


def test_publishing_stays_quick_with_a_thousand_followers() -> None:
    async def scene(hub: Changes) -> None:
        async def first() -> Change:
            return await anext(hub.follow(None, at_least_s=60, beat_s=60))

        waiting = [asyncio.create_task(first()) for _ in range(1_000)]
        while hub.followers < 1_000:  # noqa: ASYNC110 - it is their number that is waited for
            await asyncio.sleep(0.01)
        began = time.monotonic()
        for seq in range(1, 101):
            hub.publish(seq, ["tern"])
        assert time.monotonic() - began < 1.0
        assert len(await asyncio.gather(*waiting)) == 1_000

    run(scene)
