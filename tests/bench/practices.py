"""What benches over many practices of the independent golfer share: how many, how long, from which seed, two at a time."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from typing import TypeVar

T = TypeVar("T")


def practice_words(doc: str | None, *, practices: int, minutes: float, seed: int) -> argparse.ArgumentParser:
    """Words of the command line, with what holds when they are not given."""
    words = argparse.ArgumentParser(description=doc, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("practices", type=int, nargs="?", default=practices)
    words.add_argument("--minutes", type=float, default=minutes)
    words.add_argument("--seed", type=int, default=seed, help="of the first practice")
    return words


def of_each(work: Callable[[int], T], asked: argparse.Namespace) -> list[T]:
    """What `work` makes of each seed, in order."""
    with ProcessPoolExecutor(max_workers=2) as pool:
        return list(pool.map(work, range(asked.seed, asked.seed + asked.practices)))
