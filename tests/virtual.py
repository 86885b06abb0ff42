"""Virtual practices for tests: made once per argument set, shared by all."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

import numpy as np

from fusion.outputs.output import Output
from fusion.outputs.rep import Rep
from fusion.pipeline import Pipeline
from sensors.events import SourceEvent
from sensors.ids import Side
from sensors.virtual.practice import make_practice
from sensors.virtual.session import Player, VirtualSession, draw_session
from sensors.virtual.swing import SwingShape
from sensors.virtual.truth import SwingTruth
from server.drills import default_drill


@dataclass(frozen=True)
class Run:
    """A practice, what the pipeline made of it, and what was true."""

    session: VirtualSession
    events: tuple[SourceEvent, ...]
    outputs: tuple[Output, ...]
    truths: tuple[SwingTruth, ...]

    @property
    def reps(self) -> list[Rep]:
        return [output for output in self.outputs if isinstance(output, Rep)]


def run_pipeline(events: Iterable[SourceEvent]) -> tuple[Output, ...]:
    pipeline = Pipeline(default_drill())
    return tuple(output for event in events for output in pipeline.push(event))


@cache
def virtual_session(seed: int, n_swings: int, side: Side = Side.LEFT, *, perfect: bool = False) -> VirtualSession:
    """Swings from sound to cupped. `perfect`: no sensor faults, no missed poses, no tremor."""
    rng = np.random.default_rng(seed)
    shapes = [SwingShape(fault=float(fault)) for fault in rng.permutation(np.linspace(0.0, 0.8, n_swings))]
    practice = make_practice(shapes, rng, pose_error_deg=0.0 if perfect else 2.5, wander=0.0 if perfect else 1.0)
    player = Player(name="Test Player", lead_side=side, club="7-iron")
    return draw_session(practice, player, seed, perfect=perfect)


@cache
def virtual_run(seed: int, n_swings: int, side: Side = Side.LEFT, *, perfect: bool = False) -> Run:
    session = virtual_session(seed, n_swings, side, perfect=perfect)
    events = tuple(session.events())
    return Run(session=session, events=events, outputs=run_pipeline(events), truths=session.truths())
