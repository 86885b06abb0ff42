"""The service with `--lan --tls`, asked by real TLS clients: httpx and websockets, both on OpenSSL."""

from __future__ import annotations

import asyncio
import json
import ssl

import httpx
import pytest
from websockets.asyncio.client import connect
from websockets.exceptions import InvalidStatus

from server.joining.guest import GuestRole
from tests.encrypted import encrypted_service
from tests.tls_authority import trusting


@pytest.fixture
async def service(tmp_path):
    async with encrypted_service(tmp_path) as service:
        yield service


def guest(service, *, trusts=True):
    context = trusting(service.encryption.authority if trusts else None)
    return httpx.AsyncClient(trust_env=False, verify=context)


async def test_a_guest_who_trusts_comes_in_and_hears_the_practice(service):
    async with guest(service) as browser:
        answer = await browser.get(service.link(GuestRole.STUDENT))
        said = [part.strip().lower() for part in answer.headers["set-cookie"].split(";")]
        assert said[0].startswith(
            "__host-pitchbend-"
        )  # RFC 6265bis: a browser takes it over TLS alone, for this host alone
        assert {"secure", "httponly", "samesite=strict", "path=/"} <= set(said)
        assert (await browser.get(f"https://127.0.0.2:{service.port}/api/guest")).json()["role"] == "student"
        cookies = "; ".join(f"{name}={value}" for name, value in browser.cookies.items())
        uri = f"wss://127.0.0.2:{service.port}/ws/live"
        context = trusting(service.encryption.authority)
        origin = f"https://127.0.0.2:{service.port}"
        options = {"proxy": None, "ssl": context, "additional_headers": {"Cookie": cookies}}
        async with connect(uri, origin=origin, **options) as socket, asyncio.timeout(20):
            assert json.loads(await socket.recv())["type"] == "hello"
        with pytest.raises(InvalidStatus):
            async with connect(uri, origin=origin.replace("https", "http"), **options):
                pass


async def test_a_guest_who_does_not_trust_refuses(service):
    async with guest(service, trusts=False) as browser:
        with pytest.raises(httpx.ConnectError, match="CERTIFICATE_VERIFY_FAILED"):
            await browser.get(service.link(GuestRole.STUDENT))


async def test_unencrypted_others_get_the_certificate_and_nothing_else(service):
    plain = f"http://127.0.0.2:{service.plain}"
    token = service.link(GuestRole.COACH).rsplit("/", 1)[1]
    async with guest(service) as browser:
        for path in ("/", "/api/guest", "/api/joining", "/assets/x.js", f"/join/{token}", "/trusted"):
            answer = await browser.get(plain + path)
            assert (answer.status_code, answer.headers["location"]) == (303, "/trust")
            assert "set-cookie" not in answer.headers
        page = await browser.get(f"{plain}/trust")
        assert service.encryption.authority.fingerprint in page.text
        assert f"img-src https://127.0.0.2:{service.port}/" in page.headers["content-security-policy"]
        for name in ("certificate.crt", "certificate.pem"):
            file = await browser.get(f"{plain}/trust/{name}")
            assert file.content in (service.encryption.authority.der, service.encryption.authority.pem)
            assert "attachment" in file.headers["content-disposition"]
        assert (await browser.get(f"{plain}/trust/../api/guest")).status_code == 303
        assert (await browser.get(f"{plain}/trust/authority.pem")).status_code == 404
        assert (await browser.get(f"https://127.0.0.2:{service.port}/trust/known.svg")).status_code == 200
        assert (await browser.get(f"https://127.0.0.2:{service.port}/")).status_code == 403
    with pytest.raises(InvalidStatus):
        async with connect(f"ws://127.0.0.2:{service.plain}/ws/live", proxy=None):
            pass


async def test_the_computer_itself_goes_on_without_encryption_or_a_link(service):
    own = f"http://127.0.0.1:{service.plain}"
    async with guest(service) as browser:
        shown = (await browser.get(f"{own}/api/joining")).json()
        assert shown["secure"]
        assert shown["trust"]["url"] == f"http://127.0.0.2:{service.plain}/trust"
        assert {link["url"].split("/join")[0] for link in shown["links"]} == {f"https://127.0.0.2:{service.port}"}
        async with connect(f"ws://127.0.0.1:{service.plain}/ws/live", proxy=None) as socket, asyncio.timeout(20):
            assert json.loads(await socket.recv())["type"] == "hello"
        assert (await browser.get(f"https://localhost:{service.port}/api/guest")).json()["at_computer"]


async def test_in_another_network_the_next_connection_sees_the_new_certificate(tmp_path):
    addresses = ["127.0.0.2"]
    async with encrypted_service(tmp_path, addresses=addresses) as service:
        context = trusting(service.encryption.authority)
        with pytest.raises(ssl.SSLCertVerificationError):
            await asyncio.open_connection("127.0.0.3", service.port, ssl=context)
        addresses.append("127.0.0.3")
        assert service.encryption.look()
        _, writer = await asyncio.open_connection("127.0.0.3", service.port, ssl=context)
        assert writer.get_extra_info("peercert")
        writer.close()
        await writer.wait_closed()
