"""A cancellation that nobody asked for.

When a link goes down, the library under bleak may cancel what bleak is waiting for, and bleak passes it on: its WinRT
backend raises `asyncio.CancelledError` for an operation that Windows gave up, and Bumble cancels a pending request. The task
that waited would end as though it had been cancelled itself, in silence, since a task group takes that for an order; its
sensor would never be looked for again.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager

from bleak.exc import BleakError


@contextmanager
def no_stray_cancellation() -> Iterator[None]:
    """Around calls into bleak: a cancellation that this task did not receive is trouble of the radio, a `BleakError`."""
    try:
        yield
    except asyncio.CancelledError as error:
        task = asyncio.current_task()
        if task is not None and task.cancelling() > 0:
            raise
        raise BleakError("given up by the system") from error
