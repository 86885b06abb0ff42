"""The real service, open to the network: 127.0.0.1 is its own computer, and whoever calls it 127.0.0.2 is somebody else."""

from __future__ import annotations

import asyncio
import json
import logging
from contextlib import asynccontextmanager

import httpx
import pytest
from websockets.asyncio.client import connect
from websockets.exceptions import ConnectionClosed, InvalidStatus

from server.engine import Engine
from server.joining.book import GuestBook
from server.joining.door import SENT_AWAY
from server.joining.guest import GuestRole
from server.joining.opened import Joining
from server.web import ANYWHERE
from tests.live_service import LIVE, HandSource, ToldPipeline, never, running

EVERYTHING = (
    "/",
    "/index.html",
    "/assets/x.js",
    "/favicon.svg",
    "/api/health",
    "/api/guest",
    "/api/joining",
    "/join",
    "/join/../api/health",
)


class Lan:
    """The service, seen from its own computer (`own`) and from elsewhere (`away`)."""

    def __init__(self, port: int, book: GuestBook) -> None:
        self.own = f"http://127.0.0.1:{port}"
        self.away = f"http://127.0.0.2:{port}"
        self.cookie = f"pitchbend-{port}"
        self.book = book

    def link(self, role: GuestRole) -> str:
        (token,) = (link.token for link in self.book.links if link.role is role)
        return f"{self.away}/join/{token}"

    def socket(self, *, cookies: httpx.Cookies | None = None, query: str = ""):
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in (cookies or {}).items())}
        uri = f"{self.away.replace('http', 'ws')}/ws/live{query}"
        return connect(uri, proxy=None, additional_headers=headers if cookies else None)


def guest() -> httpx.AsyncClient:
    """A browser with cookies of its own."""
    return httpx.AsyncClient(trust_env=False)


@asynccontextmanager
async def joined(lan: Lan, role: GuestRole):
    async with guest() as browser:
        assert (await browser.get(lan.link(role))).status_code == 200
        yield browser


@pytest.fixture
async def lan():
    source, book = HandSource(), GuestBook()
    engine = Engine(lambda: source, view=LIVE, make_pipeline=lambda: ToldPipeline({}), sleep=never)
    async with running(engine, at=ANYWHERE, lan=Joining(book=book, port=0)) as service:
        yield Lan(service.port, book)


async def hear(socket) -> dict:
    async with asyncio.timeout(20):
        return json.loads(await socket.recv())


@pytest.mark.parametrize("path", EVERYTHING)
async def test_without_a_link_nothing_is_shown(lan, path):
    async with guest() as browser:
        answer = await browser.get(lan.away + path)
    assert answer.status_code == 403
    assert "You are not in this practice" in answer.text


async def test_without_a_link_no_socket_is_opened(lan):
    with pytest.raises(InvalidStatus) as refused:
        async with lan.socket():
            pass
    assert refused.value.response.status_code == 403


async def test_the_computer_itself_needs_no_link_unless_it_asks_for_others(lan):
    async with guest() as browser:
        assert (await browser.get(f"{lan.own}/api/joining")).json()["open"]
        passed_on = await browser.get(f"{lan.own}/api/joining", headers={"X-Forwarded-For": "192.0.2.7"})
    assert passed_on.status_code == 403


@pytest.mark.parametrize("name", ["attacker.example", "127.0.0.3", "", "127.0.0.2.attacker.example"])
async def test_by_a_foreign_name_nobody_gets_in(lan, name):
    async with joined(lan, GuestRole.STUDENT) as browser:
        assert (await browser.get(lan.away, headers={"Host": name})).status_code == 400


async def test_the_cookie_is_for_this_service_and_no_script_can_read_it(lan):
    """RFC 6265 section 4.1.2.6 (HttpOnly) and its revision, draft 6265bis (SameSite)."""
    async with guest() as browser:
        answer = await browser.get(lan.link(GuestRole.STUDENT))
        said = [part.strip().lower() for part in answer.headers["set-cookie"].split(";")]
        assert {"httponly", "samesite=strict", "path=/"} <= set(said)
        assert answer.headers["cache-control"] == "no-store"
        assert answer.headers["referrer-policy"] == "no-referrer"
        assert (await browser.get(lan.away)).status_code == 200


async def test_a_viewer_stays_a_viewer_whatever_it_asks_to_be(lan):
    async with joined(lan, GuestRole.VIEWER) as browser:
        assert (await browser.get(f"{lan.away}/api/guest?as=coach")).json()["role"] == "viewer"
        assert (await browser.get(f"{lan.away}/api/joining?as=coach")).status_code == 403
        async with lan.socket(cookies=browser.cookies, query="?as=coach") as socket:
            assert (await hear(socket))["type"] == "hello"
            await socket.send('{"type":"move","move":"still"}')
            assert (await hear(socket))["code"] == "viewers_watch"


@pytest.mark.parametrize("path", ["renew", "send-away"])
async def test_a_page_of_somebody_else_changes_nothing(lan, path):
    async with joined(lan, GuestRole.COACH) as browser:
        (visit,) = lan.book.visits()
        body = {"role": "coach"} if path == "renew" else {"guest": visit.id}
        for base in (lan.own, lan.away):
            refused = await browser.post(
                f"{base}/api/joining/{path}", json=body, headers={"Origin": "http://attacker.example"}
            )
            assert refused.status_code == 403
        assert lan.book.visits() == (visit,)


async def test_a_guest_who_is_sent_away_is_gone_and_the_link_with_it(lan):
    async with joined(lan, GuestRole.VIEWER) as browser, joined(lan, GuestRole.STUDENT) as other, guest() as own:
        old = lan.link(GuestRole.VIEWER)
        async with lan.socket(cookies=browser.cookies) as socket:
            assert (await hear(socket))["type"] == "hello"
            gone, _ = (await own.get(f"{lan.own}/api/joining")).json()["guests"]
            assert gone["here"]
            sent = await own.post(f"{lan.own}/api/joining/send-away", json={"guest": gone["id"]})
            assert sent.status_code == 204
            with pytest.raises(ConnectionClosed) as closed:
                await hear(socket)
            assert closed.value.rcvd is not None
            assert closed.value.rcvd.code == SENT_AWAY
        assert (await browser.get(lan.away)).status_code == 403
        assert (await browser.get(old)).status_code == 403
        assert (await other.get(lan.away)).status_code == 200


async def test_a_coach_sees_the_links_and_a_student_does_not(lan):
    async with joined(lan, GuestRole.COACH) as coach, joined(lan, GuestRole.STUDENT) as student:
        assert (await coach.get(f"{lan.away}/api/joining")).json()["open"]
        assert (await student.get(f"{lan.away}/api/joining")).status_code == 403


async def test_whoever_tries_links_is_not_listened_to_for_a_while(lan):
    async with guest() as browser:
        answers = [(await browser.get(f"{lan.away}/join/{'x' * 24}")).status_code for _ in range(11)]
        assert answers == [403] * 10 + [429]
        right = await browser.get(lan.link(GuestRole.STUDENT))
        assert (right.status_code, int(right.headers["retry-after"]) > 0) == (429, True)


async def test_no_secret_is_logged(lan, caplog):
    for chatty in ("httpx", "httpcore", "websockets.client"):  # they are the guest's, not the service's
        caplog.set_level(logging.ERROR, logger=chatty)
    caplog.set_level(logging.DEBUG)
    async with joined(lan, GuestRole.STUDENT) as browser:
        async with lan.socket(cookies=browser.cookies) as socket:
            await hear(socket)
        await browser.get(f"{lan.away}/join/{'x' * 24}")
        secrets = [*(link.token for link in lan.book.links), browser.cookies[lan.cookie], "x" * 24]
    assert "a student joined one" in caplog.text
    assert not [secret for secret in secrets if secret in caplog.text]
