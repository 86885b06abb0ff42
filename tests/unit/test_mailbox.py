from __future__ import annotations

import asyncio

import pytest

from server.mailbox import MAX_UNACKNOWLEDGED, Mailbox


async def everything(mailbox):
    return [await mailbox.take() for _ in iter(lambda: mailbox.has_mail, False)]


async def test_the_newest_frame_wins_and_the_rest_are_counted():
    mailbox = Mailbox()
    for seq in (1, 2, 3):
        mailbox.put_frame(seq, f"frame {seq}")
    assert await everything(mailbox) == ["frame 3"]
    assert (mailbox.n_missed, mailbox.n_taken) == (2, 1)


async def test_events_are_kept_in_order_and_go_before_the_frame():
    mailbox = Mailbox()
    mailbox.put_event("cue")
    mailbox.put_event("phase")
    mailbox.put_frame(1, "frame")
    assert await everything(mailbox) == ["cue", "phase", "frame"]


async def test_no_frame_from_before_an_event_follows_it():
    mailbox = Mailbox()
    mailbox.put_frame(1, "old frame")
    mailbox.put_event("cue")
    assert await everything(mailbox) == ["cue"]
    assert mailbox.n_missed == 1


async def test_sensor_health_is_newest_only_and_not_starved_by_frames():
    mailbox = Mailbox()
    mailbox.put_newest("sensors", "health 1")
    mailbox.put_frame(1, "frame")
    mailbox.put_newest("sensors", "health 2")
    assert await everything(mailbox) == ["health 2", "frame"]


async def test_take_waits_for_each_kind():
    mailbox = Mailbox()
    for put, text in (
        (mailbox.put_event, "event"),
        (lambda text: mailbox.put_newest("sensors", text), "health"),
        (lambda text: mailbox.put_frame(1, text), "frame"),
    ):
        waiting = asyncio.create_task(mailbox.take())
        await asyncio.sleep(0)
        assert not waiting.done()
        put(text)
        assert await waiting == text


async def test_an_overflow_gives_the_client_up_and_holds_nothing_more():
    mailbox = Mailbox(max_events=3)
    for i in range(3):
        mailbox.put_event(str(i))
    assert not mailbox.overflowed.is_set()
    mailbox.put_event("one too many")
    assert mailbox.overflowed.is_set()
    mailbox.put_event("later")
    mailbox.put_frame(9, "frame")
    mailbox.put_newest("sensors", "health")
    assert not mailbox.has_mail
    assert (mailbox.n_dropped, mailbox.n_missed, mailbox.n_waiting) == (2, 1, 0)


async def send_frames(mailbox, first, n):
    sent = []
    for seq in range(first, first + n):
        mailbox.put_frame(seq, str(seq))
        if mailbox.has_mail:
            sent.append(int(await mailbox.take()))
    return sent


async def test_a_client_that_never_acknowledges_gets_every_frame():
    assert await send_frames(Mailbox(), 1, 500) == list(range(1, 501))


async def test_a_client_that_acknowledged_once_gets_no_more_than_so_many_ahead():
    mailbox = Mailbox()
    await send_frames(mailbox, 1, 5)
    mailbox.acknowledge(5)
    sent = await send_frames(mailbox, 6, 100)
    assert sent == list(range(6, 6 + MAX_UNACKNOWLEDGED))
    assert mailbox.n_unacknowledged == MAX_UNACKNOWLEDGED
    assert mailbox.n_missed == 100 - MAX_UNACKNOWLEDGED
    mailbox.put_event("cue")
    assert await everything(mailbox) == ["cue"]  # events are not held back

    mailbox.acknowledge(sent[9])
    assert len(await send_frames(mailbox, 200, 50)) == 10
    mailbox.acknowledge(10**9)
    assert mailbox.n_unacknowledged == 0


@pytest.mark.parametrize("seq", [0, 3])
async def test_an_old_acknowledgement_changes_nothing(seq):
    mailbox = Mailbox()
    mailbox.acknowledge(0)
    await send_frames(mailbox, 4, 3)
    mailbox.acknowledge(seq)
    assert mailbox.n_unacknowledged == 3
