"""What comes up on the page by itself and goes again: batteries, a sensor that has turned, a calibration that was not kept."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence

from fusion.outputs.fit import HabitFound, SensorTurned, TrimFound, TurnKind
from sensors.events import ClockJump, LinkChange, LinkReason, SensorInfo
from sensors.health import SensorHealth
from sensors.ids import Role, SensorId
from server.advice import clock_advice, link_advice
from server.figure_news import FigureNews
from server.habits import HabitStore
from server.hub import Hub
from server.trim_advice import due_words, not_kept_advice
from server.trims import TrimStore
from server.troubles import Troubles
from server.turned_advice import turned_advice, turned_code
from server.wire import ProblemMessage

_log = logging.getLogger(__name__)


class Notices:
    """Of one practice. `tell` is told, a sentence at a time, what the terminal should show; what a replay shows is past."""

    def __init__(
        self,
        hub: Hub,
        *,
        live: bool,
        tell: Callable[[str], None],
        trims: TrimStore | None,
        habits: HabitStore | None = None,
    ) -> None:
        self._hub = hub
        self._live = live
        self._tell = tell
        self._trims = trims
        self._habits = habits
        self._troubles = Troubles()
        self._figures = FigureNews()
        self._trim_due: dict[SensorId, str] = {}

    def link(self, change: LinkChange, health: Sequence[SensorHealth]) -> bool:
        """Tell of a link; False for a sensor that is in no list yet, whose trouble is told in words."""
        for sentence in self._troubles.links(health):
            self._tell(sentence)
        if change.reason is LinkReason.BATTERY_EMPTY:
            self._solved(f"battery:{change.sensor}")  # it says that the sensor may stop at any moment, and it has
        listed = any(one.sensor == change.sensor for one in health)
        if change.reason is not LinkReason.NONE and not listed:
            text = f"Sensor {change.sensor}: {link_advice(change.state, change.reason)}"
            self._hub.publish(ProblemMessage(code=f"sensor:{change.sensor}", text=text))
        return listed

    def introduce(self, info: SensorInfo) -> None:
        """Look up whether a sensor is calibrated, the first time that it says who it is."""
        if self._live and info.sensor not in self._trim_due:
            found = self._trims.find(info.sensor) if self._trims is not None else None
            self._trim_due[info.sensor] = due_words(found, self._trims.now() if self._trims is not None else None)

    def trim_due(self, sensor: SensorId) -> str:
        """Why a sensor should be calibrated; empty when it is."""
        return self._trim_due.get(sensor, "")

    def batteries(self, health: Sequence[SensorHealth]) -> None:
        """Tell a battery that runs down, before the first swing as during the practice."""
        for news in self._troubles.batteries(health):
            code = f"battery:{news.sensor}"
            if not news.text:
                self._solved(code)
            elif self._live:
                self._hub.publish(ProblemMessage(code=code, text=news.text))
                self._tell(news.text)

    def figures(self, health: Sequence[SensorHealth], now_ns: int) -> None:
        """Tell how well the sensors send. On the page that stands by the list of sensors."""
        for sentence in self._figures.look(health, now_ns) if self._live else ():
            self._tell(sentence)

    def clock(self, jump: ClockJump) -> None:
        """Tell that the computer slept, or its clock was set."""
        if self._live:
            self._hub.publish(ProblemMessage(code="clock_jump", text=clock_advice(jump)))
            self._tell(clock_advice(jump))

    def turned(self, turned: SensorTurned) -> None:
        """Tell that a sensor has turned since the fit, or sits again as it did."""
        if turned.kind is TurnKind.BACK:
            self.sits_again(turned.role)
        else:
            text = turned_advice(turned, replayed=not self._live)
            self._hub.publish(ProblemMessage(code=turned_code(turned.role), text=text))

    def sits_again(self, *roles: Role) -> None:
        """A sensor was turned back, or fitted as it sits now."""
        self._solved(*(turned_code(role) for role in roles))

    def keep_trim(self, found: TrimFound) -> None:
        """Keep a new calibration for the next practice; what a recording says was kept when it was made."""
        self._trim_due[found.sensor] = ""
        if self._trims is None or not self._live:
            return
        try:
            self._trims.keep(found.sensor, found.trim)
        except (OSError, ValueError) as error:  # pydantic's errors are ValueErrors
            _log.warning("the calibration of %s was not kept: %s", found.sensor, error)
            problem = error.strerror if isinstance(error, OSError) else None
            text = not_kept_advice(problem or "it is not one that a sound sensor can have")
            self._hub.publish(ProblemMessage(code=f"trim:{found.sensor}", text=text))

    def keep_habit(self, found: HabitFound) -> None:
        """Remember what a fit shows of the player; when that cannot be, the next set-up is as long as this one."""
        if self._habits is None or not self._live:
            return
        try:
            self._habits.keep(found.player, found.forearm, found.club, found.habit)
        except (OSError, ValueError) as error:  # pydantic's errors are ValueErrors
            _log.warning("what the fit shows of the player was not kept: %s", error)

    def _solved(self, *codes: str) -> None:
        stood = [self._hub.present.solved(code) for code in codes]
        if any(stood):
            self._hub.renew()
