"""Who steers a practice: handed over in words, told to all, and back with the student when the coach has gone."""

from __future__ import annotations

import asyncio
from contextlib import asynccontextmanager

import pytest

from sensors.ids import Move
from server.bays.control import COACH_AWAY_S, Control
from server.bays.local_bay import LocalBay
from server.bays.pace import BURST, Pace
from server.drills import default_drill, our_drills
from server.engine import Engine
from server.joining.guest import Guest, GuestRole
from server.wire import ProblemMessage
from server.wire_client import (
    BandMessage,
    ChooseDrillMessage,
    ClubMessage,
    DrillTextMessage,
    EditDrillMessage,
    LookAheadMessage,
    MoveMessage,
    PauseMessage,
    SaveDrillMessage,
    SecondMessage,
    TryDrillMessage,
)
from server.wire_lesson import ControlAskMessage, SayMessage
from tests.live_service import LIVE, HandSource, drain, info, never, packet
from tests.unit.test_drill_text import TEXT
from tests.unit.test_engine import MARA

STUDENT, COACH, VIEWER = (Guest(role=role) for role in GuestRole)
WANTED = our_drills()[1]
STEERING = (
    MoveMessage(move=Move.STILL),
    ChooseDrillMessage(id=WANTED.id),
    DrillTextMessage(text=TEXT),
    BandMessage(low=-9.0, high=15.0),
    SecondMessage(id=None),
    LookAheadMessage(ms=40),
)
"""Everything that changes what is practised."""
NOT_STEERING = (
    PauseMessage(on=True),
    ClubMessage(club="wedge"),
    EditDrillMessage(id=None),
    TryDrillMessage(text=TEXT),
)


class Lesson:
    """A bay on a source fed by hand, whose clock and sleep are the test's."""

    def __init__(self):
        self.source, self.now_s = HandSource(), 0.0
        self.wakes: asyncio.Queue[asyncio.Event] = asyncio.Queue()
        engine = Engine(lambda: self.source, view=LIVE, player=MARA, sleep=never, clock_ns=lambda: 2_000)
        self.bay = LocalBay(engine, id="mara", name="Mara", clock_s=lambda: self.now_s, sleep=self._sleep)

    async def _sleep(self, _):
        wake = asyncio.Event()
        self.wakes.put_nowait(wake)
        await wake.wait()

    async def look(self, now_s):
        """It is that late, and the bay looks."""
        self.now_s = now_s
        (await self.wakes.get()).set()
        wake = await self.wakes.get()  # it sleeps again, so it has looked
        self.wakes.put_nowait(wake)

    async def refusal(self, guest, message):
        answer = await self.bay.ask(guest, message)
        return answer.code if isinstance(answer, ProblemMessage) else None

    @property
    def holder(self):
        return self.bay.board().control


@asynccontextmanager
async def lesson():
    one = Lesson()
    task = asyncio.create_task(one.bay.run())
    one.source.feed(info(1_000), packet(b"", 1_500))
    await one.source.taken()
    try:
        yield one
    finally:
        task.cancel()
        await asyncio.wait({task})


async def test_only_who_holds_it_may_change_what_is_practised():
    async with lesson() as one:
        one.bay.join(COACH)
        for message in STEERING:
            assert await one.refusal(COACH, message) == "not_in_control", message
            assert await one.refusal(STUDENT, message) != "not_in_control", message
        assert await one.refusal(COACH, ControlAskMessage(hold=True)) is None
        for message in STEERING:
            assert await one.refusal(STUDENT, message) == "not_in_control", message
            assert await one.refusal(COACH, message) is None, message


async def test_a_refusal_changes_nothing_and_consent_does():
    async with lesson() as one:
        one.bay.join(COACH)
        await one.bay.ask(COACH, ChooseDrillMessage(id=WANTED.id))
        assert one.bay.board().drill == default_drill().name
        await one.bay.ask(STUDENT, ChooseDrillMessage(id=WANTED.id))
        assert one.bay.board().drill == WANTED.drill.name != default_drill().name


async def test_quiet_club_and_questions_are_anybodys_but_a_viewers():
    async with lesson() as one:
        for message in NOT_STEERING:
            for guest in (STUDENT, COACH):
                assert await one.refusal(guest, message) is None, message
            assert await one.refusal(VIEWER, message) == "viewers_watch"
        for message in (*STEERING, ControlAskMessage(hold=True), SayMessage(text="Hello.")):
            assert await one.refusal(VIEWER, message) == "viewers_watch"
        assert await one.refusal(STUDENT, SayMessage(text="Hello.")) == "coach_says"
        assert await one.refusal(STUDENT, SaveDrillMessage(text=TEXT, id="mine")) == "drill_refused"


async def test_all_are_told_once_and_late_joiners_in_hello():
    async with lesson() as one:
        student, _ = one.bay.join(STUDENT), one.bay.join(COACH)
        await drain(student)
        ada = Guest(role=GuestRole.COACH, name="Ada's tablet")
        for _ in range(2):  # asking for what one has is no news
            await one.bay.ask(ada, ControlAskMessage(hold=True))
        told = {"type": "control", "holder": "coach", "reason": "asked", "by": "Ada's tablet"}
        assert await drain(student) == [told]
        (hello, *_) = await drain(one.bay.join(VIEWER))
        assert (hello["control"], hello["bay"]) == ("coach", {"id": "mara", "name": "Mara"})
        assert one.holder == "coach"
        await one.bay.ask(STUDENT, ControlAskMessage(hold=True))
        assert await drain(student) == [
            {"type": "control", "holder": "student", "reason": "taken_back", "by": "student"}
        ]


async def test_a_coach_who_is_away_for_a_minute_has_given_it_back():
    async with lesson() as one:
        student, coach = one.bay.join(STUDENT), one.bay.join(COACH)
        await one.bay.ask(COACH, ControlAskMessage(hold=True))
        await one.look(1_000.0)
        assert one.holder == "coach", "a coach who is there keeps it for as long as they like"
        one.bay.leave(coach)
        await one.look(1_000.0 + COACH_AWAY_S - 0.5)
        assert one.holder == "coach"
        await drain(student)
        await one.look(1_000.0 + COACH_AWAY_S)
        assert one.holder == "student"
        assert await drain(student) == [{"type": "control", "holder": "student", "reason": "coach_gone", "by": ""}]
        assert await one.refusal(STUDENT, LookAheadMessage(ms=40)) is None


async def test_a_coach_who_comes_back_in_time_or_looks_at_the_board_keeps_it():
    async with lesson() as one:
        first = one.bay.join(COACH)
        await one.bay.ask(COACH, ControlAskMessage(hold=True))
        one.bay.leave(first)
        await one.look(COACH_AWAY_S / 2)
        one.bay.watch(COACH)
        await one.look(10 * COACH_AWAY_S)
        assert one.holder == "coach"
        one.bay.unwatch(COACH)
        await one.look(11 * COACH_AWAY_S - 1)
        assert one.holder == "coach", "the minute begins when the last connection ends"
        await one.look(11 * COACH_AWAY_S)
        assert one.holder == "student"


def test_control_cannot_be_given_to_nobody():
    control = Control()
    assert control.ask(STUDENT, hold=False).code == "no_coach"
    control.came(COACH)
    assert control.ask(STUDENT, hold=False).holder == "coach"
    assert control.ask(STUDENT, hold=False) is None
    assert control.ask(COACH, hold=False).holder == "student"
    assert control.ask(COACH, hold=False) is None


@pytest.mark.parametrize("guest", [STUDENT, COACH])
def test_a_refusal_says_who_steers_and_what_to_do(guest):
    control = Control()
    control.came(COACH)
    control.ask(COACH, hold=guest is STUDENT)
    assert ("Take back" if guest is STUDENT else "Take over") in control.refuses(guest).text


def test_a_page_gone_wild_is_slowed():
    now_s = [0.0]
    pace = Pace(lambda: now_s[0])
    assert [pace.allows() for _ in range(BURST + 2)] == [True] * BURST + [False] * 2
    now_s[0] = 2.0
    assert [pace.allows() for _ in range(3)] == [True, True, False]
    now_s[0] = 1e6
    assert sum(pace.allows() for _ in range(3 * BURST)) == BURST
