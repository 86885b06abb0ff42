"""What the player works on: the drill in force and the way through its blocks, the same for every swing of a practice."""

from __future__ import annotations

from fusion.drills.course import Course
from fusion.drills.drill import Drill
from fusion.drills.monitor import DrillMonitor
from fusion.outputs import Verdict


class Desk:
    """Gives each swing its monitor, and counts what came of it."""

    def __init__(self, drill: Drill) -> None:
        self.drill = drill
        self.course = Course.of(drill.blocks)
        self.lead_s = 0.0
        """How much early the cue is begun."""
        self.paused = False
        self._under_way: DrillMonitor | None = None

    def set(self, drill: Drill) -> None:
        """Begin another drill, or the same anew. A swing under way is still judged by the drill that it began with."""
        self.drill = drill
        self.course = Course.of(drill.blocks)

    def monitor(self) -> DrillMonitor:
        """Make the monitor of a swing that begins now."""
        course = self.course
        monitor = DrillMonitor(self.drill, cued=course.cued, testing=course.testing, lead_s=self.lead_s)
        if self.paused:
            monitor.pause()
        self._under_way = monitor
        return monitor

    def pause(self, paused: bool) -> None:  # noqa: FBT001  # as the event has it
        """Pause at once, in the middle of a swing too; or go on, from the next takeaway."""
        self.paused = paused
        if paused and self._under_way is not None:
            self._under_way.pause()

    def count(self, monitor: DrillMonitor, verdict: Verdict) -> None:
        """Count a rep; one that began before the drill was changed counts for neither, one in a pause for none."""
        if monitor.drill is self.drill and not monitor.paused:
            self.course = self.course.after(verdict)
