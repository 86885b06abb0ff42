"""Long work that somebody watches: now and then they are told how far it is."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

EVERY = 256
"""Events between two looks: some hundredths of a second of work."""
Step = TypeVar("Step")


def watched(steps: Iterable[Step], look: Callable[[], object]) -> Iterator[Step]:
    """Pass the steps on; `look` is called once the first is done with, and then each time so many more are."""
    for n, step in enumerate(steps):
        yield step
        if n % EVERY == 0:
            look()
