"""A hash of everything the pipeline says of a recording: the same before and after a change that should move nothing.

python -m tests.bench.fingerprint [RECORDING ...]      without a name: the demo, and two virtual practices
"""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np

from fusion.outputs.fit import HabitFound
from fusion.pipeline import Pipeline
from sensors.events import SourceEvent
from sensors.ids import Side
from sensors.record.reader import read_events
from sensors.virtual.practice import make_practice
from sensors.virtual.session import Player, draw_session
from sensors.virtual.swing import SwingShape
from server.drills import default_drill

DEMO = Path(__file__).parents[2] / "recordings" / "hollow-fen-evening.mcap"


def fingerprint(events: Iterable[SourceEvent], *, series: bool) -> str:
    """Of every output, to the last bit: `repr` of a float is exact."""
    pipeline, digest = Pipeline(default_drill(), series=series), hashlib.sha256()
    for event in events:
        for output in pipeline.push(event):
            if not isinstance(output, HabitFound):  # is for another practice
                digest.update(repr(output).encode())
    return digest.hexdigest()[:16]


def practice(seed: int) -> Iterator[SourceEvent]:
    rng = np.random.default_rng(seed)
    shapes = [SwingShape(fault=fault, backswing_s=0.9, downswing_s=0.28) for fault in (0.7, 0.3, 0.0)]
    who = Player(name="A", lead_side=Side.RIGHT if seed % 2 else Side.LEFT, club="7-iron")
    return draw_session(make_practice(shapes, rng, pose_error_deg=1.5, pose_s=1.6), who, seed).events()


def main() -> None:
    for path in map(Path, sys.argv[1:] or [str(DEMO)]):
        for series in (False, True):
            print(path.name, "series" if series else "live  ", fingerprint(read_events(path), series=series))
    for seed in () if sys.argv[1:] else (41, 42):
        print("virtual practice", seed, fingerprint(practice(seed), series=True))


if __name__ == "__main__":
    main()
