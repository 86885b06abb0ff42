"""From what was chosen for each practice to practices that can begin."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from sensors.record.background import TapeStatus
from sensors.record.paths import default_folder
from sensors.sources.clock_watch import ClockWatch
from server.bays.local_bay import LocalBay
from server.bays.names import slugs
from server.bays.spec import BaySpec
from server.engine import Engine
from server.tape import Tape


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenBay:
    """A practice that can begin, and its recording."""

    bay: LocalBay
    tape: Tape


def open_bays(specs: Sequence[BaySpec]) -> tuple[OpenBay, ...]:
    """Begin the recordings and make the practices; raises `RecorderError` when one cannot be begun, and then leaves none open."""
    opened: list[OpenBay] = []
    try:
        for spec, bay_id in zip(specs, slugs([spec.title for spec in specs]), strict=True):
            opened.append(_open(spec, bay_id))
    except BaseException:
        for one in opened:
            one.tape.close()
        raise
    return tuple(opened)


def _stored(spec: BaySpec) -> Callable[[TapeStatus], None]:
    """What the recording is to tell when it is closed."""
    if spec.storing is None or spec.record_to is None:
        return lambda _: None
    return spec.storing.expect(spec.record_to)


def _open(spec: BaySpec, bay_id: str) -> OpenBay:
    tape = Tape(spec.record_to, fallback=default_folder(), notes=spec.notes, on_closed=_stored(spec))
    engine = Engine(
        spec.make_source,
        view=spec.view,
        repeat=spec.repeat,
        deck=spec.deck,
        player=spec.player,
        tape=tape,
        trims=spec.trims,
        habits=spec.habits,
        drill=spec.drill,
        second=spec.second,
        choice=spec.choice,
        tell=spec.tell,
        watch=ClockWatch() if spec.view.kind == "live" else None,
        asked=spec.asked,
    )
    return OpenBay(bay=LocalBay(engine, id=bay_id, name=spec.title), tape=tape)
