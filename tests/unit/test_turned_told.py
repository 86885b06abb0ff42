"""What the person is told of a sensor that turned: sentences, the problem on the wire, and that it goes again."""

from __future__ import annotations

import asyncio
import math
from itertools import product

import pytest

from fusion.outputs.fit import FitProgress, FitState, SensorTurned, TurnKind
from sensors.ids import PAIR, Move, Role
from server.engine import Engine
from server.turned_advice import turned_advice, turned_code
from server.wire import ProblemMessage
from tests.live_service import LIVE, HandSource, ToldPipeline, drain, never, packet
from tests.unit.test_advice import assert_plain


def told(role, kind, by_deg=21.0):
    return SensorTurned(arrival_ns=0, t_s=60.0, role=role, kind=kind, by_rad=math.radians(by_deg), n_swings=3)


@pytest.mark.parametrize(("role", "kind"), list(product(PAIR, TurnKind)))
def test_every_turn_has_plain_sentences(role, kind):
    for replayed in (False, True):
        assert_plain(turned_advice(told(role, kind), replayed=replayed))
    if kind is TurnKind.ROLLED:
        assert "21°" in turned_advice(told(role, kind, -21.0), replayed=True)
        assert "3 swings" in turned_advice(told(role, kind), replayed=True)
    if kind is not TurnKind.BACK:
        assert "Turn it back" in turned_advice(told(role, kind), replayed=False)
        assert "Turn it back" not in turned_advice(told(role, kind), replayed=True)


def test_the_sentences_are_told_apart():
    assert len({turned_advice(told(role, kind), replayed=False) for role, kind in product(PAIR, TurnKind)}) == 6


async def problems_after(*outputs):
    """Run a live engine whose pipeline says these, one a packet; problems and hellos as heard, and what still stands."""
    source = HandSource()
    script = {bytes([i]): (output,) for i, output in enumerate(outputs)}
    engine = Engine(lambda: source, view=LIVE, sleep=never, make_pipeline=lambda: ToldPipeline(script))
    mailbox = engine.hub.join()
    task = asyncio.create_task(engine.run())
    for payload in script:
        source.feed(packet(payload))
        await source.taken()
    task.cancel()
    await asyncio.wait({task})
    heard = [message for message in await drain(mailbox) if message["type"] in ("problem", "hello")]
    standing = [m.code for m in engine.hub.present.opening() if isinstance(m, ProblemMessage)]
    return heard, standing


async def test_a_turn_is_a_problem_that_stands_until_it_is_back():
    turned = told(Role.CLUB, TurnKind.ROLLED)
    heard, standing = await problems_after(turned)
    assert [m["code"] for m in heard if m["type"] == "problem"] == [turned_code(Role.CLUB)]
    assert standing == [turned_code(Role.CLUB)]
    heard, standing = await problems_after(
        turned, told(Role.FOREARM, TurnKind.REVERSED), told(Role.CLUB, TurnKind.BACK)
    )
    assert standing == [turned_code(Role.FOREARM)]
    last = max(i for i, message in enumerate(heard) if message["type"] == "hello")
    assert [m["code"] for m in heard[last + 1 :]] == [turned_code(Role.FOREARM)]  # what a page shows is what stands


async def test_a_new_fit_ends_it():
    fitted = FitProgress(arrival_ns=0, move=Move.ADDRESS, state=FitState.TAKEN, complete=True)
    halfway = FitProgress(arrival_ns=0, move=Move.NEUTRAL, state=FitState.TAKEN)
    turned = told(Role.FOREARM, TurnKind.ROLLED)
    assert (await problems_after(turned, halfway))[1] == [turned_code(Role.FOREARM)]
    assert (await problems_after(turned, halfway, fitted))[1] == []
