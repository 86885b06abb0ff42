"""What the player works on: the drill in force and the way through its blocks, the same for every swing of a practice."""

from __future__ import annotations

from fusion.drills.course import Course
from fusion.drills.drill import Drill
from fusion.drills.ending import EndMonitor
from fusion.drills.monitor import DrillMonitor, Monitor
from fusion.drills.parse import DrillInvalid, drill_from
from fusion.drills.swing_log import SwingLog, Trial
from fusion.outputs.cue import DrillNews
from fusion.outputs.rep import Verdict
from sensors.events import DrillSet, LookAheadSet, PauseSet, SecondDrillSet


class Desk:
    """Gives each swing its monitors, and counts what came of it."""

    def __init__(self, drill: Drill) -> None:
        self.drill = drill
        self.course = Course.of(drill.blocks)
        self.lead_s = 0.0
        """How much early the cue is begun."""
        self.paused = False
        self._under_way: Monitor | None = None
        self.second: Drill | None = None
        """Judged beside the first, without a sound and without blocks."""
        self.last: SwingLog | None = None
        """The last swing that became a rep, for drills to be tried on."""

    def hear(self, event: DrillSet | SecondDrillSet | LookAheadSet | PauseSet) -> list[DrillNews]:
        """What a person wants from now on; news where it is another drill, or cannot be."""
        try:
            match event:
                case DrillSet():
                    self.set(drill_from(event.text))
                case SecondDrillSet():
                    self.second = drill_from(event.text) if event.text else None
                case LookAheadSet():
                    self.lead_s = event.lead_s
                    return []
                case PauseSet():
                    self.pause(event.paused)
                    return []
        except DrillInvalid as error:
            return [DrillNews(arrival_ns=event.arrival_ns, problem=str(error))]
        return [DrillNews(arrival_ns=event.arrival_ns)]

    def set(self, drill: Drill) -> None:
        """Begin another drill, or the same anew. A swing under way is still judged by the drill that it began with."""
        self.drill = drill
        self.course = Course.of(drill.blocks)

    def monitor(self) -> Monitor:
        """Make the monitor of a swing that begins now."""
        course = self.course
        monitor = monitor_of(self.drill, cued=course.cued, testing=course.testing, lead_s=self.lead_s)
        if self.paused:
            monitor.pause()
        self._under_way = monitor
        return monitor

    def second_monitor(self) -> Monitor | None:
        """The same for the second drill, if there is one."""
        return monitor_of(self.second, cued=False) if self.second is not None else None

    def pause(self, paused: bool) -> None:  # noqa: FBT001  # as the event has it
        """Pause at once, in the middle of a swing too; or go on, from the next takeaway."""
        self.paused = paused
        if paused and self._under_way is not None:
            self._under_way.pause()

    def count(self, monitor: Monitor, verdict: Verdict, log: SwingLog) -> None:
        """Count a rep; one that began before the drill was changed counts for neither, one in a pause for none."""
        self.last = log
        if monitor.drill is self.drill and not monitor.paused:
            self.course = self.course.after(verdict)

    def trial(self, drill: Drill) -> Trial | None:
        """Say what a drill would have made of the last rep, cued; None before there is one."""
        if self.last is None or self.last.cut:
            return None
        return self.last.trial(lambda: monitor_of(drill, lead_s=self.lead_s))


def monitor_of(drill: Drill, *, cued: bool = True, testing: bool = False, lead_s: float = 0.0) -> Monitor:
    """Make the monitor that a drill's quantity needs."""
    if drill.quantity.at_end:
        return EndMonitor(drill, cued=cued, testing=testing)
    return DrillMonitor(drill, cued=cued, testing=testing, lead_s=lead_s)
