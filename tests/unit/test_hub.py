from __future__ import annotations

import json

import pytest

from sensors.ids import Move, Role
from server import hub as hub_module
from server.hub import Hub
from server.present import KEPT_PROBLEMS, Present
from server.wire import SERVER_MESSAGE, CueMessage, EndMessage, ProblemMessage, SensorsMessage, SourceView
from server.wire_fit import FitMessage, FitView
from tests.e2e import samples
from tests.live_service import drain


@pytest.fixture
def hub():
    source = SourceView(kind="live", name="Bluetooth", speed=1.0)
    return Hub(Present(source=source, drill=samples.drill(), player=None, recording="practice.mcap"))


def cue(t_s=1.0):
    return CueMessage(t_s=t_s, sounding=True, error_deg=-3.0)


def types(messages):
    return [message["type"] for message in messages]


async def test_hello_comes_first_and_then_what_is_published(hub):
    mailbox = hub.join()
    hub.publish(cue())
    hub.publish(samples.frame(seq=7))
    hello, *rest = await drain(mailbox)
    assert hello["type"] == "hello"
    assert hello["recording"] == "practice.mcap"
    assert types(rest) == ["cue", "frame"]
    for message in (hello, *rest):
        SERVER_MESSAGE.validate_json(json.dumps(message))


async def test_each_message_is_encoded_once_for_all(hub, monkeypatch):
    encoded = []
    encode = hub_module.encode
    monkeypatch.setattr(hub_module, "encode", lambda message: encoded.append(message) or encode(message))
    hub.publish(cue())
    assert encoded == []
    mailboxes = [hub.join() for _ in range(3)]
    encoded.clear()
    hub.publish(cue())
    assert len(encoded) == 1
    assert [types(await drain(mailbox)) for mailbox in mailboxes] == [["hello", "cue"]] * 3


async def test_a_late_joiner_lacks_nothing(hub):
    fit = FitView(complete=False, taken=[Move.STILL])
    move = {"move": Move.STILL, "state": "taken", "reason": "none", "measured": None, "limit": None, "advice": "Taken."}
    hub.publish(FitMessage.model_validate({**move, "fit": fit}, strict=False))
    hub.publish(SensorsMessage(sensors=[samples.sensor(Role.CLUB)]))
    hub.publish(samples.frame(seq=3))
    for index in range(1, 15):
        hub.publish(samples.rep(index))
    hub.publish(ProblemMessage(code="recording_stopped", text="The disk is full."))
    hub.publish(EndMessage(again=False))
    hello, problem, end = await drain(hub.join())
    assert hello["fit"] == {
        "complete": False, "taken": ["still"], "known": False, "due": [], "constants": [], "notes": [],
    }  # fmt: skip
    assert [sensor["role"] for sensor in hello["sensors"]] == ["club"]
    assert hello["frame"]["seq"] == 3
    assert [rep["index"] for rep in hello["reps"]] == list(range(3, 15))
    assert problem["code"] == "recording_stopped"
    assert end == {"type": "end", "again": False}


async def test_a_repeat_begins_anew(hub):
    hub.publish(samples.rep(1))
    hub.publish(samples.frame())
    hub.publish(EndMessage(again=True))
    (hello,) = await drain(hub.join())
    assert (hello["reps"], hello["frame"], hello["fit"]["taken"]) == ([], None, [])


async def test_problems_are_kept_one_a_code_until_solved(hub):
    for text in ("first", "second"):
        hub.publish(ProblemMessage(code="sensor:a", text=text))
    for i in range(KEPT_PROBLEMS - 1):
        hub.publish(ProblemMessage(code=f"other {i}", text="x"))
    assert "second" in [message.get("text") for message in await drain(hub.join())]
    hub.publish(ProblemMessage(code="last", text="x"))
    standing = [message.get("text") for message in await drain(hub.join())][1:]
    assert len(standing) == KEPT_PROBLEMS
    assert "second" not in standing
    assert hub.present.solved("last")
    assert not hub.present.solved("last")


async def test_renew_greets_everyone_again(hub):
    mailbox = hub.join()
    hub.present.player = samples.hello().player
    hub.renew()
    first, second = await drain(mailbox)
    assert (first["player"], second["player"]["name"]) == (None, "Mara Voss")


async def test_a_client_that_does_not_read_is_given_up_and_the_others_go_on():
    source = SourceView(kind="live", name="Bluetooth", speed=1.0)
    hub = Hub(Present(source=source, drill=samples.drill(), player=None, recording=None), max_events=4)
    stuck, well = hub.join(), hub.join()
    got = []
    for i in range(10):
        got += await drain(well)
        hub.publish(cue(float(i)))
    got += await drain(well)
    assert [message["t_s"] for message in got if message["type"] == "cue"] == list(range(10))
    assert stuck.overflowed.is_set()
    assert not well.overflowed.is_set()
    hub.leave(stuck)
    assert hub.mailboxes == (well,)
    assert (hub.n_joined, hub.n_overflowed) == (2, 1)
