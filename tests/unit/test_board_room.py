"""A board and the practices that it hears, on a bus within the process; `tests/integration/test_board_bus.py` has a real one."""

from __future__ import annotations

import asyncio
import json

import pytest

from fusion.outputs.instant import Phase
from sensors.events import RepMark
from server.bays.board_room import MOST_BAYS
from server.bays.outlet import MOST_BOARDS
from server.bays.pace import BURST
from server.bays.remote_bay import AWAY
from server.bus.local_bus import LocalBus
from server.bus.messages import AWAY_AFTER_S, MOST_ASKED_BYTES
from server.bus.subjects import address_in, new_number
from server.joining.guest import Guest, GuestRole
from server.present import present_of
from server.wire import HelloMessage, PhaseMessage, ProblemMessage
from server.wire_client import LookAheadMessage
from server.wire_lesson import BayRef, ControlAskMessage, NoteMessage, RepMarkMessage, SaidMessage, WriteNoteMessage
from server.wire_replay import ReplayTimelineMessage, ReplayView
from tests.bus_room import COACH, Room, heard, practice, until
from tests.e2e import samples


class LossyBus(LocalBus):
    """Loses what it is told to."""

    def __init__(self):
        super().__init__()
        self.loses = lambda _subject, _data: False

    async def publish(self, subject, data, *, reply_to=""):
        if not self.loses(subject, data):
            await super().publish(subject, data, reply_to=reply_to)


@pytest.fixture
async def room():
    async with Room(LossyBus()).open() as room:
        yield room


def test_a_greeting_passed_on_says_the_same_of_everything():
    """A field that is added to the greeting has to be here, too, and in `Present.take_over`."""
    full = samples.hello(
        course=samples.course(), second=samples.drill(), drills=samples.choices(), look_ahead_ms=20, paused=True,
        frame=samples.frame(), reps=samples.reps(), recording="/a", choosing=samples.choosing(), control="coach",
        bay=BayRef(id="one", name="One"),
        replay=ReplayView(playing=True, speed=1.0, at_s=3.0),
        marks=[RepMarkMessage(rep=1, mark=RepMark.LOOK)],
        notes=[NoteMessage(id=1, t_s=1.0, text="Still here.", rep=None)],
        said=[SaidMessage(id=1, t_s=1.0, text="Slower.")],
    )  # fmt: skip
    present = present_of(full)
    (again,) = present.opening()
    timeline = ReplayTimelineMessage(reps=[], remarks=[], known_s=1.0, progress=0.5, duration_s=None)
    present.note(timeline)
    assert present_of(full, present).at_joining() == (timeline,)
    assert again.model_copy(update={"version": full.version}) == full
    for name, field in HelloMessage.model_fields.items():
        assert name == "type" or field.is_required() or getattr(full, name) != field.default, (
            f"{name} is not tried here"
        )


async def test_a_practice_appears_by_its_own_word(room):
    bay = practice()
    room.tell_of(bay)
    remote = await room.remote()
    bay.engine.hub.publish(samples.rep(1))
    bay.engine.hub.publish(samples.frame(**samples.CUPPED))
    await until(lambda: remote.board() == bay.board())
    assert remote.board().n_reps == 1
    assert remote.health().elsewhere.host == "mat-3"
    assert bay.engine.hub.n_joined == 0, "nobody follows it, so it is told in short only"


async def test_who_looks_hears_all_that_pages_are_told_there_and_late_ones_lack_nothing(room):
    bay = practice()
    hub = bay.engine.hub
    room.tell_of(bay)
    remote = await room.remote()
    first = remote.join(COACH)
    (hello,) = await heard(first, "hello")
    assert hello == json.loads(hub.present.opening()[0].model_dump_json())
    for index in range(1, 31):
        hub.publish(samples.rep(index))
    hub.publish(PhaseMessage(t_s=1.0, phase=Phase.TOP))
    assert [m["index"] for m in await heard(first, "phase") if m["type"] == "rep"] == list(range(1, 31))
    late = remote.join(COACH)
    (hello,) = await heard(late, "hello")
    assert hello == json.loads(hub.present.opening()[0].model_dump_json())
    hub.publish(ProblemMessage(code="sensor:x", text="It slipped."))
    hub.present.solved("sensor:x")
    hub.renew()
    for mailbox in (first, late):
        assert [m["type"] for m in await heard(mailbox, "hello")] == ["problem", "hello"]
    remote.leave(first)
    remote.leave(late)
    again = remote.join(COACH)  # in the same breath, as a page that is loaded again
    assert (await heard(again, "hello"))[-1]["reps"]
    remote.leave(again)
    await until(lambda: not hub.mailboxes)


async def test_a_hole_in_the_stream_is_told_anew(room):
    bay = practice()
    room.tell_of(bay)
    remote = await room.remote()
    mailbox = remote.join(COACH)
    await heard(mailbox, "hello")
    room.bus.loses = lambda subject, data: ".live." in subject and b'"index":2' in data
    for index in (1, 2, 3):
        bay.engine.hub.publish(samples.rep(index))
    room_hears = await heard(mailbox, "rep")
    assert room_hears[-1]["index"] == 1
    room.bus.loses = lambda *_: False
    seen = await heard(mailbox, "hello")
    assert [m["type"] for m in seen] == ["hello"], "rep 3 is not told without rep 2"
    assert [rep["index"] for rep in seen[0]["reps"]] == [1, 2, 3]
    assert remote.health().elsewhere.holes == 1


async def test_a_coach_at_the_board_steers_and_others_do_not(room):
    bay = practice()
    room.tell_of(bay)
    remote = await room.remote()
    mailbox = remote.join(COACH)
    await heard(mailbox, "hello")
    assert (await remote.ask(COACH, LookAheadMessage(ms=30))).code == "not_in_control"
    await until(lambda: bay._control._n_coaches == 1)
    assert await remote.ask(COACH, ControlAskMessage(hold=True)) is None
    told = (await heard(mailbox, "control"))[-1]
    assert (told["holder"], told["by"]) == ("coach", "iPad")
    await until(lambda: remote.board().control == "coach")
    for role, code in ((GuestRole.VIEWER, "viewers_watch"), (GuestRole.STUDENT, "coach_only")):
        assert (await remote.ask(Guest(role=role), LookAheadMessage(ms=30))).code == code
    notes = [await remote.ask(COACH, WriteNoteMessage(text="Note.", rep=None)) for _ in range(BURST + 3)]
    assert notes[-1].code == "too_fast"
    remote.leave(mailbox)
    await until(lambda: bay._control._n_coaches == 0)


async def test_away_and_back(room):
    bay = practice()
    outlet = room.tell_of(bay)
    remote = await room.remote()
    mailbox = remote.join(COACH)
    await heard(mailbox, "hello")
    bay.engine.hub.publish(samples.frame(**samples.CUPPED))
    await until(lambda: remote.board().status == "live")
    room.bus.loses = lambda *_: True
    room.clock.ahead_s += AWAY_AFTER_S
    await until(lambda: remote.board().status == "away")
    assert (remote.board().bend_change_deg, remote.board().sounding) == (None, False)
    assert "mat-3" in remote.board().problem
    assert (await heard(mailbox, "problem"))[-1]["code"] == AWAY
    assert (await remote.ask(COACH, LookAheadMessage(ms=30))).code == AWAY
    await until(lambda: bay._control._n_coaches == 0)  # a coach whose board is gone holds nothing
    bay.engine.hub.publish(samples.rep(7))
    room.bus.loses = lambda *_: False
    await until(lambda: remote.board().status != "away")
    back = (await heard(mailbox, "hello"))[-1]
    assert [rep["index"] for rep in back["reps"]] == [7]
    assert room.bays.find("one") is remote
    await room.stop(outlet)
    await until(lambda: remote.board().status == "away")
    assert "stopped" in remote.board().problem
    room.tell_of(practice())  # the same practice of the same computer, begun again
    await until(lambda: remote.board().status == "waiting")
    assert (await heard(mailbox, "hello"))[-1]["reps"] == []
    remote.leave(mailbox)


async def test_two_of_one_name_and_those_that_stay_away(room):
    outlets = [room.tell_of(practice(), host=host) for host in ("mat-3", "mat-4", "mat-4")]
    await until(lambda: len(room.bays) == 3)
    assert {bay.id for bay in room.bays} == {"one", "one-mat-4", "one-mat-4-2"}
    assert len({bay.name for bay in room.bays}) >= 2
    await room.stop(outlets[0], quietly=True)
    room.clock.ahead_s += 31 * 60
    await until(lambda: [bay.away for bay in room.bays].count(False) == 2)
    room.board.look()
    assert {bay.id for bay in room.bays} == {"one-mat-4", "one-mat-4-2"}


async def test_what_is_malformed_or_too_much_is_refused_and_counted(room):
    bay = practice()
    outlet = room.tell_of(bay)
    remote = await room.remote()
    mailbox = remote.join(COACH)
    await heard(mailbox, "hello")
    address = remote.address
    good = outlet._here(bay.board())
    junk = (
        b"",
        b"null",
        b"[1]",
        b"{",
        b"\xff\xfe",
        b'{"protocol":true}',
        b"[" * 10_000,
        good[:-2],
        good + b" " * 20_000,
    )
    before = room.board.n_refused
    for data in junk:
        await room.bus.publish(address.here, data)
    for subject in (
        "pitchbend.bay.A B.x.here",
        f"pitchbend.bay.{'x' * 70}.{new_number()}.here",
        "pitchbend.bay.one.1.here",
    ):
        await room.bus.publish(subject, good)
    assert room.board.n_refused == before + len(junk) + 3
    for data in (*junk, b'{"n":0,"message":{"type":"end","again":false}}', b'{"n":2,"message":{"type":"no such"}}'):
        await room.bus.publish(address.live(room.board.number), data)
    assert remote.n_refused == len(junk) + 2
    refused = outlet.counts.refused
    note = b'{"name":"x","message":{"type":"note","text":"a","rep":null}}'
    for data, reply_to in (*((one, "pitchbend.answer.ab.1") for one in junk), (note, address.here), (note, ""),
                           (note + b" " * MOST_ASKED_BYTES, "pitchbend.answer.ab.1")):  # fmt: skip
        await room.bus.publish(address.ask, data, reply_to=reply_to)
    for data in junk:
        await room.bus.publish(address.guests, data)
    for _ in range(MOST_BOARDS + 2):
        said = json.dumps({"board": new_number(), "coaches": 1, "follow": False}).encode()
        await room.bus.publish(address.guests, said)
    assert outlet.counts.refused == refused + 2 * len(junk) + 3 + 3  # one board was there before
    other = json.loads(good) | {"protocol": 99_999}
    for _ in range(3):
        await room.bus.publish(address.here, json.dumps(other).encode())
    assert len([one for one in room.sentences if "another version" in one]) == 1
    for _ in range(MOST_BAYS + 3):
        await room.bus.publish(f"pitchbend.bay.many.{new_number()}.here", good)
    assert len(room.bays) == MOST_BAYS
    bay.engine.hub.publish(samples.rep(5))
    assert (await heard(mailbox, "rep"))[-1]["index"] == 5, "those that are well go on"
    assert not bay.engine.hub.present.opening()[0].notes
    remote.leave(mailbox)


def test_subjects_are_found_again():
    number = new_number()
    assert address_in(f"pitchbend.bay.mara-2.{number}.live.{number}").id == "mara-2"
    assert address_in(f"pitchbend.bay.mara..{number}.here") is None
    assert address_in(f"pitchbend.bay.mara.{number}.here\n") is None


async def test_a_bus_that_is_away_holds_up_the_boards_and_nothing_else(room):
    class Stuck(LocalBus):
        async def publish(self, *_, **__):
            await asyncio.Event().wait()

    stuck, bay = Room(Stuck()), practice()
    outlet = stuck.tell_of(bay)
    await asyncio.sleep(0)
    said = json.dumps({"board": new_number(), "coaches": 1, "follow": True}).encode()
    await LocalBus.publish(stuck.bus, outlet._address.guests, said)
    own = bay.join(Guest())
    for index in range(1, 301):
        bay.engine.hub.publish(samples.rep(index))
        if index % 100 == 0:
            await asyncio.sleep(0)
            while own.has_mail:
                last = json.loads(await own.take())
    assert last["index"] == 300
    assert max(mailbox.n_waiting for mailbox in bay.engine.hub.mailboxes) <= 256
    bay.leave(own)
    await stuck.stop(outlet)
