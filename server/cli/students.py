"""Several students of one lesson: who they are, as said on the command line, and a practice for each."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from sensors.events import PlayerSet
from sensors.ids import PAIR, Role, SensorId, Side
from sensors.record.paths import default_folder, practice_path
from server.cli import radio
from server.cli.failures import CommandFailed, tell
from server.cli.practice import PracticeSetup, Wishes, remembering, told_store
from server.cli.sensors import profiles_for
from server.habits import HabitStore, habits_folder

_FORM: Final = (
    "--student takes NAME, to choose the sensors on the page, or NAME=FOREARM,CLUB, with the addresses "
    "that `pitchbend scan` lists"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Student:
    """Who swings, and what they wear."""

    name: str
    places: Mapping[Role, SensorId]
    """Empty: to be chosen on the page."""
    lead_side: Side = Side.LEFT

    @property
    def said(self) -> str:
        """The words that ask for this student."""
        side = "" if self.lead_side is Side.LEFT else f",{self.lead_side.value}"
        return f'--student "{self.name}={",".join(self.places[role] for role in PAIR)}{side}"'


def refuse_for_one(wishes: Wishes) -> None:
    """Raise `CommandFailed` for what was said of a practice with one player beside students."""
    said = {
        "--forearm": wishes.forearm, "--club": wishes.club, "--also": wishes.also, "--choose": wishes.choose,
        "--swap": wishes.swap, "--lead-side": wishes.lead_side, "--player": wishes.player,
    }  # fmt: skip
    wrong = [option for option, value in said.items() if value]
    if wrong:
        raise CommandFailed(
            f"{' and '.join(wrong)} cannot go with --student, which says it for each: NAME=FOREARM,CLUB, "
            "and ,right after it for a left-handed player."
        )


def students_of(texts: Sequence[str]) -> tuple[Student, ...]:
    """Read what was said. Raises `CommandFailed` for a bad form, a name given twice, or a sensor given twice."""
    students = tuple(_student(text) for text in texts)
    wearers: dict[str, str] = {}
    names: set[str] = set()
    for student in students:
        if student.name.casefold() in names:
            raise CommandFailed(
                f"Two students are called {student.name}. Give each a name of their own, for example {student.name} B."
            )
        names.add(student.name.casefold())
        for sensor in student.places.values():
            other = wearers.setdefault(sensor.casefold(), student.name)
            if other != student.name:
                raise CommandFailed(
                    f"Sensor {sensor} is given to both {other} and {student.name}. Each student needs two of their own."
                )
    return students


def _student(text: str) -> Student:
    name, is_said, rest = text.rpartition("=")
    words = [word.strip() for word in rest.split(",")]
    if not is_said:
        name = words.pop(0)
    wanted = PAIR if is_said else ()
    side = words.pop().lower() if len(words) == len(wanted) + 1 else Side.LEFT.value
    name = " ".join(name.split())
    if not name or len(words) != len(wanted) or not all(words):
        raise CommandFailed(f"{_FORM}. It was given {text!r}.")
    if side not in tuple(Side):
        raise CommandFailed(f"{_FORM}, and left or right after them for the lead arm. It was given {text!r}.")
    if len({word.casefold() for word in words}) < len(words):
        raise CommandFailed(
            f"Sensor {words[0]} is given to {name} twice: one is for the forearm, the other for the club."
        )
    places = {role: SensorId(word) for role, word in zip(wanted, words, strict=True)}
    return Student(name=name, places=places, lead_side=Side(side))


def prepare_lesson(
    students: Sequence[Student], *, folder: Path | None = None, profile: str | None = None
) -> tuple[PracticeSetup, ...]:
    """Make a practice for each, over one adapter, each with a recording of its own. Nothing of it is remembered."""
    adapter = radio.OneAdapter(profiles_for(profile))
    now = datetime.now().astimezone()
    paths: list[Path] = []
    for student in students:
        paths.append(practice_path(folder or default_folder(), student.name, now, taken=paths))
    return tuple(_setup(student, adapter, path) for student, path in zip(students, paths, strict=True))


def _setup(student: Student, adapter: radio.OneAdapter, record_to: Path) -> PracticeSetup:
    habits = HabitStore(habits_folder())
    store = told_store(student.places, whose=f"{student.name}, ")

    return PracticeSetup(
        player=PlayerSet(arrival_ns=time.monotonic_ns(), name=student.name, lead_side=student.lead_side),
        make_source=lambda: remembering(
            adapter.source_of(places=student.places, bay=student.name), store, habits, student.name
        ),
        record_to=record_to,
        trims=store,
        habits=habits,
        choosing=not student.places,
        keep_places=_tell_places(student),
    )


def _tell_places(student: Student) -> Callable[[Mapping[Role, SensorId]], None]:
    """Sensors that were chosen or exchanged on the page are so for this practice: say how to begin with them the next time."""

    def tell_places(chosen: Mapping[Role, SensorId]) -> None:
        changed = Student(name=student.name, places=chosen, lead_side=student.lead_side)
        tell(f"{student.name} wears these now. To begin with them the next time: {changed.said}")

    return tell_places
