"""What is asked about drills in a practice: choosing, writing, trying, keeping, and a second one beside the first.

Rule 1: a drill comes into force as an event, so that a recording holds it and a replay repeats it.
Rule 2: only a coach sets a second drill or writes to this computer's folder of drills.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from fusion.drills.drill import Drill
from fusion.drills.parse import DrillInvalid, drill_from
from fusion.drills.write import text_of
from fusion.pipeline import Pipeline
from sensors.events import DrillSet, SecondDrillSet, SourceEvent
from server.advice import drill_refused_advice
from server.chosen import Chosen
from server.drill_views import drill_choice, form_message, refused_message, tried_message
from server.drills import DrillFileError, DrillNotKept, DrillText, catalogue, keep_drill
from server.hub import Hub
from server.wire import ProblemMessage, ServerMessage
from server.wire_client import (
    BandMessage,
    ChooseDrillMessage,
    DrillAsk,
    DrillTextMessage,
    EditDrillMessage,
    SaveDrillMessage,
    SecondMessage,
    TryDrillMessage,
)
from server.wire_drills import DrillsMessage

ID: Final = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
"""A file's name on any system, and in the shell."""


class Lesson:
    """Answers one client at a time; what all should know is published."""

    def __init__(
        self, hub: Hub, chosen: Chosen, *, pipeline: Callable[[], Pipeline], begun: Callable[[], bool],
        now_ns: Callable[[], int], wish: Callable[[SourceEvent], None],
    ) -> None:  # fmt: skip
        self._hub = hub
        self._chosen = chosen
        self._pipeline = pipeline
        self._begun = begun
        self._now_ns = now_ns
        self._wish = wish

    def ask(self, message: DrillAsk, *, coach: bool) -> ServerMessage | None:  # noqa: PLR0911  # a table: one case a message
        """Do what is asked; gives the answer, or the reason why not."""
        match message:
            case TryDrillMessage():
                return self._tried(message.text)
            case EditDrillMessage():
                return self._form(message.id)
            case SaveDrillMessage():
                return self._save(message, coach=coach)
        if self._hub.present.ended:
            return _refused(drill_refused_advice(over=True))
        match message:
            case ChooseDrillMessage():
                found = _found(message.id)
                if found is None:
                    return _refused(drill_refused_advice(over=False))
                self._begin(found)
                return None
            case DrillTextMessage():
                return self._written(message.text)
            case BandMessage():
                return self._band(message)
            case SecondMessage():
                return self._second(message.id, coach=coach)

    @property
    def _drill(self) -> Drill:
        """The drill in force, or the one that will be as soon as there is data."""
        waiting = self._chosen.drill
        return waiting.drill if waiting is not None and not self._begun() else self._pipeline().drill

    def _begin(self, drill: DrillText) -> None:
        self._chosen.drill = drill
        self._wish(DrillSet(arrival_ns=self._now_ns(), text=drill.text))

    def _written(self, text: str) -> ProblemMessage | None:
        try:
            drill = drill_from(text)
        except DrillInvalid as error:
            return _refused(f"The drill cannot be used: {error}. The one before stays.")
        self._begin(DrillText(id="", text=text, drill=drill))
        return None

    def _band(self, message: BandMessage) -> ProblemMessage | None:
        drill, unit = self._drill, self._drill.quantity.unit
        low, high = unit.inside(message.low), unit.inside(message.high)
        half = (high - low) / 2
        hysteresis = min(drill.hysteresis, max(half, 0.0))
        warn = drill.warn if drill.warn is not None and drill.warn <= half - hysteresis else None
        return self._written(text_of(replace(drill, low=low, high=high, hysteresis=hysteresis, warn=warn)))

    def _second(self, drill_id: str | None, *, coach: bool) -> ProblemMessage | None:
        if not coach:
            return _refused("Only a coach sets a second drill: one thing to think of is enough.")
        found = _found(drill_id) if drill_id is not None else None
        if drill_id is not None and found is None:
            return _refused(drill_refused_advice(over=False))
        self._chosen.second = found
        self._wish(SecondDrillSet(arrival_ns=self._now_ns(), text=found.text if found is not None else ""))
        return None

    def _tried(self, text: str) -> ServerMessage:
        try:
            drill = drill_from(text)
        except DrillInvalid as error:
            return refused_message(error)
        desk = self._pipeline().desk
        return tried_message(drill, desk.last, desk.trial(drill))

    def _form(self, drill_id: str | None) -> ServerMessage:
        found = _found(drill_id) if drill_id is not None else None
        if drill_id is not None and found is None:
            return _refused(drill_refused_advice(over=False))
        return form_message(found.id if found is not None else "", found.drill if found is not None else self._drill)

    def _save(self, message: SaveDrillMessage, *, coach: bool) -> ProblemMessage | None:
        if not coach:
            return _refused(
                "Only a coach keeps drills on this computer. Put the drill in force without keeping it, or ask yours."
            )
        if not ID.fullmatch(message.id):
            return _refused("A drill's file is named with small letters, digits and single hyphens, such as my-drill.")
        try:
            keep_drill(message.id, message.text)
        except DrillInvalid as error:
            return _refused(f"The drill was not kept: {error}.")
        except (DrillFileError, DrillNotKept) as error:
            return _refused(f"The drill was not kept. {error}")
        drills = [drill_choice(one) for one in catalogue()]
        self._hub.publish(DrillsMessage(drills=drills, saved=message.id))
        return None


def _found(drill_id: str) -> DrillText | None:
    return next((one for one in catalogue() if one.id == drill_id), None)


def _refused(text: str) -> ProblemMessage:
    return ProblemMessage(code="drill_refused", text=text)
