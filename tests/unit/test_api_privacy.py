"""What somebody who has joined by a link may see of the store.

Every route of the description is tried, so that a new one is not forgotten.
"""

from __future__ import annotations

import hashlib
import re
from contextlib import asynccontextmanager
from types import SimpleNamespace
from urllib.parse import quote

import httpx
import pytest

from server.api.api import make_api
from server.api.archive import Archive
from server.api.wish import StoreWish
from server.app import make_app
from server.bays.bay import Bays
from server.bays.health import BayHealth
from server.cli.demo_recording import demo_recording
from server.joining.book import GuestBook, Place
from server.joining.guest import GuestRole
from server.joining.opened import Joining
from server.store import people
from tests.api_client import problem

OPERATIONS = [
    (method.upper(), path)
    for path, operations in make_api(Archive(StoreWish())).openapi()["paths"].items()
    for method in operations
]
DEMO = demo_recording().read_bytes()
SHA = hashlib.sha256(DEMO).hexdigest()


HEALTH = BayHealth(
    id="", name="", source=None, ended=False, control="student", recording="/home/maren/a.mcap", events=0, packets=0, frames=0,
    moved_stamps=0, sensors=[], clients=[], clients_joined=0, clients_given_up=0,
)  # fmt: skip


@pytest.fixture(scope="module")
def archive(demo_store, tmp_path_factory):
    archive = Archive(StoreWish(place=str(demo_store / "store.sqlite"), keep_in=tmp_path_factory.mktemp("received")))
    yield archive
    archive.close()


@pytest.fixture(scope="module")
def player(archive):
    with archive.database().reading() as connection:
        return people.players(connection)[0].name


@pytest.fixture(scope="module")
def lan(archive, player):
    """A service that is open to the network, with the practice of the demo's player, one of another, and one of nobody."""
    names = {"hers": player, "other": "Jory", "nameless": ""}
    bays = [
        SimpleNamespace(
            id=one, name=one, board=lambda name=name: SimpleNamespace(player=SimpleNamespace(name=name)),
            health=lambda one=one: HEALTH.model_copy(update={"id": one}),
        )
        for one, name in names.items()
    ]  # fmt: skip
    book = GuestBook([Place(id=one, name=one) for one in names])
    joining = Joining(book=book, port=80)
    return make_app(Bays(bays), on_bug=print, archive=archive, lan=joining), book


@pytest.fixture
def joined(lan):
    """Comes in by a link as a phone in the same network does."""
    app, book = lan

    @asynccontextmanager
    async def by(role, place=None):
        (link,) = (one for one in book.links if one.role is role and (one.place is None or one.place.id == place))
        origin = "http://192.0.2.1"
        transport = httpx.ASGITransport(app, client=("192.0.2.7", 40000))
        async with httpx.AsyncClient(
            transport=transport, base_url=origin, headers={"Origin": origin}, timeout=60
        ) as phone:
            assert (await phone.get(f"/join/{link.token}")).status_code == 200
            phone.base_url = f"{origin}/api"
            yield phone

    return by


@pytest.fixture(scope="module")
def filled_in(archive, player):
    with archive.database().reading() as connection:
        (practice,) = people.whole(connection, people.player_id_of(connection, player))["practices"]
    known = {"key": practice["key"], "name": quote(player), "number": "1", "sha256": SHA}

    def address(path):
        assert set(re.findall(r"{(\w+)}", path)) <= set(known), "say in `server.api.sight` to whom this belongs"
        return path.format(**known)

    return address, practice["key"]


async def asked(phone, method, address):
    return await phone.request(method, address, **({} if method in ("GET", "DELETE") else {"json": {}}))


@pytest.mark.parametrize(("method", "path"), OPERATIONS)
@pytest.mark.parametrize("whose", ["other", "nameless"])
async def test_who_practises_sees_nothing_of_another_player(joined, filled_in, player, whose, method, path):
    address, key = filled_in
    async with joined(GuestRole.STUDENT, whose) as phone:
        answer = await asked(phone, method, address(path))
    if "{" in path:
        told = problem(answer, 403, "not_yours")
        assert ("Jory" in told["detail"]) is (whose == "other")
    assert answer.status_code < 500
    for secret in (player, key):
        assert secret not in answer.text


@pytest.mark.parametrize(("method", "path"), OPERATIONS)
async def test_who_watches_sees_nothing_that_is_stored(joined, filled_in, method, path):
    async with joined(GuestRole.VIEWER) as phone:
        answer = await asked(phone, method, filled_in[0](path))
    if (method, path) == ("GET", "/drills"):
        assert answer.status_code == 200
    else:
        problem(answer, 403, "viewers_watch" if path.startswith("/drills") else "not_yours")


@pytest.mark.parametrize(("method", "path"), OPERATIONS)
async def test_a_coach_and_the_player_see_what_there_is(joined, filled_in, method, path):
    address = filled_in[0](path)
    async with joined(GuestRole.COACH) as coach, joined(GuestRole.STUDENT, "hers") as phone:
        for device in (coach, phone):
            answer = await asked(device, method, address)
            if device is phone and (path == "/recordings/{sha256}" or (method == "DELETE" and "players" in path)):
                problem(answer, 403, "not_yours")  # it was not sent from there; and only a coach deletes a player
            elif method == "GET" and path != "/recordings/{sha256}":
                assert answer.status_code == 200, answer.text
            else:
                assert answer.status_code != 403, answer.text


async def test_lists_say_whose_they_are_and_what_one_sends_oneself_one_may_see(joined, filled_in, player):
    _, key = filled_in
    async with joined(GuestRole.STUDENT, "hers") as hers, joined(GuestRole.COACH) as coach:
        for device, only_of in ((hers, player), (coach, None)):
            listed = (await device.get("/practices")).json()
            assert ([one["key"] for one in listed["items"]], listed["only_of"]) == ([key], only_of)
            assert [one["name"] for one in (await device.get("/players")).json()["items"]] == [player]
    async with joined(GuestRole.STUDENT, "other") as phone, joined(GuestRole.STUDENT, "other") as another:
        assert (await phone.get("/practices")).json() == {"items": [], "next": None, "only_of": "Jory"}
        sent = (await phone.post("/recordings", content=DEMO)).json()
        assert (sent["outcome"], sent["key"]) == ("known", key)
        assert (await phone.get(f"/recordings/{SHA}")).status_code == 200
        assert [one["key"] for one in (await phone.get("/practices")).json()["items"]] == [key]
        assert (await phone.get(f"/practices/{key}/reps")).status_code == 200
        problem(
            await phone.get(f"/players/{quote(player)}/progress"), 403, "not_yours"
        )  # the rest of that player is not theirs
        problem(await another.get(f"/practices/{key}"), 403, "not_yours")


@pytest.mark.parametrize(
    ("role", "place", "ids", "path"),
    [
        (GuestRole.STUDENT, "other", ["other"], None),
        (GuestRole.VIEWER, None, ["hers", "other", "nameless"], None),
        (GuestRole.COACH, None, ["hers", "other", "nameless"], HEALTH.recording),
    ],
)
async def test_how_a_practice_fares_is_told_to_those_in_it_and_where_its_file_lies_to_coaches(
    joined, role, place, ids, path
):
    async with joined(role, place) as phone:
        bays = (await phone.get("/health")).json()["bays"]
    assert [(bay["id"], bay["recording"]) for bay in bays] == [(one, path) for one in ids]


async def test_what_a_guest_says_of_itself_counts_for_nothing(joined, filled_in):
    async with joined(GuestRole.STUDENT, "other") as phone:
        problem(await phone.get(f"/practices/{filled_in[1]}", params={"as": "coach", "bay": "hers"}), 403, "not_yours")
