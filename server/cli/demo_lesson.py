"""The invented students of `pitchbend demo --students`: a practice each, made when it is first played."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Final

from sensors.sources.base import Source
from sensors.sources.made_replay import MadeReplay
from server.bays.spec import BaySpec
from server.drills import DrillText, our_drills
from server.wire import SourceView

if TYPE_CHECKING:
    from sensors.virtual.lesson import Learner

MOST: Final = 6
"""The player of the recording that comes along, and five others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoWishes:
    """What is the same for every student."""

    speed: float
    drill: DrillText | None
    """For all of them; None: each works on their own fault."""
    second: DrillText | None


def lesson_specs(n_others: int, wishes: DemoWishes, folder: Path) -> list[BaySpec]:
    """The practices of so many students beside the first; their recordings are made in `folder`."""
    from sensors.virtual.lesson import LEARNERS  # noqa: PLC0415  # needs the numerical libraries: not for --help

    one_at_a_time = Lock()
    ours = {drill.id: drill for drill in our_drills()}
    return [
        BaySpec(
            make_source=_player(folder / f"{number}.mcap", learner, one_at_a_time, wishes.speed),
            view=SourceView(kind="demo", name=learner.name, speed=wishes.speed),
            name=learner.name,
            repeat=True,
            drill=wishes.drill or ours[learner.drill],
            second=wishes.second,
        )
        for number, learner in enumerate(LEARNERS[:n_others])
    ]


def _player(path: Path, learner: Learner, one_at_a_time: Lock, speed: float) -> Callable[[], Source]:
    return lambda: MadeReplay(path, partial(_make, learner, one_at_a_time), speed=speed, hurry_fit=True)


def _make(learner: Learner, one_at_a_time: Lock, path: Path) -> None:
    from sensors.virtual.lesson import write_learner  # noqa: PLC0415  # as above

    with one_at_a_time:  # so that the first of them is there soon
        write_learner(learner, path)
