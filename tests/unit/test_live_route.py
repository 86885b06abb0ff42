from __future__ import annotations

import asyncio

import pytest
from fastapi import WebSocketDisconnect

from server.mailbox import Mailbox
from server.routes import live


class Gone:
    """A websocket whose other side is no longer there."""

    def __init__(self, error):
        self.error = error

    async def send_text(self, _):
        raise self.error

    async def close(self, *_):
        if self.error is None:
            await asyncio.Event().wait()
        raise self.error


@pytest.mark.parametrize("error", [WebSocketDisconnect(1006), RuntimeError("already closed")])
async def test_a_client_that_leaves_while_being_sent_to_is_no_error(error):
    mailbox = Mailbox()
    mailbox.put_event("cue")
    await live._send(Gone(error), mailbox)
    await live._close_stalled(Gone(error))


async def test_a_bug_while_sending_escapes():
    mailbox = Mailbox()
    mailbox.put_event("cue")
    with pytest.raises(ZeroDivisionError):
        await live._send(Gone(ZeroDivisionError()), mailbox)


async def test_a_client_that_cannot_even_be_told_good_bye_is_left(monkeypatch):
    monkeypatch.setattr(live, "_CLOSING_S", 0.0)
    await live._close_stalled(Gone(None))
