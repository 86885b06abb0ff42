"""The authority and its certificates, judged by two readers of their own: OpenSSL and the verifier of `cryptography`."""

from __future__ import annotations

import ipaddress
import os
import shutil
import ssl
import stat
import subprocess
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError
from typer.testing import CliRunner

from server.cli import main
from server.cli.failures import CommandFailed
from server.cli.joining import joining_wishes
from server.tls.authority import authority_path, make_authority, read_authority, the_authority
from server.tls.certificate import issue, vouched_for
from server.tls.trouble import TrustReason, TrustTrouble, trust_sentence
from tests.tls_authority import MACHINE, authority_in, encryption_in, trusting

SUBJECTS = ("localhost", MACHINE, f"{MACHINE}.local", "127.0.0.1", "192.168.7.20", "10.0.0.4")


def verified(authority, leaf, subject, at=None):
    """By the verifier of `cryptography`, which is written in Rust apart from the part that makes certificates."""
    try:
        name = x509.IPAddress(ipaddress.ip_address(subject))
    except ValueError:
        name = x509.DNSName(subject)
    builder = PolicyBuilder().store(Store([authority.certificate])).time(at or datetime.now(UTC))
    return builder.build_server_verifier(name).verify(leaf.certificate, [])


def in_memory(server, client, name):
    """A whole handshake by OpenSSL, without a network."""
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    near = client.wrap_bio(to_client, to_server, server_hostname=name)
    far = server.wrap_bio(to_server, to_client, server_side=True)
    for _ in range(8):
        done = 0
        for end in (near, far):
            try:
                end.do_handshake()
                done += 1
            except ssl.SSLWantReadError:
                pass
        if done == 2:
            return near.getpeercert()
    raise AssertionError("no handshake")


def context_of(leaf):
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    leaf.load_into(context)
    return context


@pytest.mark.parametrize("subject", SUBJECTS)
def test_a_client_that_trusts_it_accepts_each_of_its_names_and_addresses(tmp_path, subject):
    authority = authority_in(tmp_path)
    leaf = issue(authority, SUBJECTS)
    assert len(verified(authority, leaf, subject)) == 2
    assert in_memory(context_of(leaf), trusting(authority), subject)


@pytest.mark.parametrize("client", ["that trusts nobody", "that trusts another", "that calls another name"])
def test_a_client_that_should_not_refuses(tmp_path, client):
    authority = authority_in(tmp_path)
    trusts = {"that trusts nobody": None, "that trusts another": authority_in(tmp_path / "other")}
    name = "192.168.7.21" if client == "that calls another name" else SUBJECTS[-1]
    with pytest.raises(ssl.SSLCertVerificationError):
        in_memory(context_of(issue(authority, SUBJECTS)), trusting(trusts.get(client, authority)), name)


@pytest.mark.parametrize("subject", ["bank.example", "8.8.8.8", "range-hut.example", "2001:4860:4860::8888"])
def test_whoever_has_the_key_can_vouch_for_nothing_on_the_internet(tmp_path, subject):
    """RFC 5280, section 4.2.1.10, as OpenSSL and `cryptography` apply it; and we do not try."""
    authority = authority_in(tmp_path)
    stolen = issue(authority, (subject,))
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        in_memory(context_of(stolen), trusting(authority), subject)
    with pytest.raises(VerificationError):
        verified(authority, stolen, subject)
    name, address = ((), (subject,)) if subject[0].isdigit() else ((subject,), ())
    assert vouched_for(authority, name, address) == ("localhost", "127.0.0.1")


@pytest.mark.skipif(shutil.which("openssl") is None, reason="needs the program openssl")
def test_openssl_finds_nothing_to_object_to(tmp_path):
    authority = authority_in(tmp_path)
    ca, leaf = tmp_path / "ca.pem", tmp_path / "leaf.pem"
    ca.write_bytes(authority.pem)
    leaf.write_bytes(issue(authority, SUBJECTS).certificate.public_bytes(serialization.Encoding.PEM))
    command = [
        "openssl",
        "verify",
        "-x509_strict",
        "-purpose",
        "sslserver",
        "-verify_ip",
        "10.0.0.4",
        "-CAfile",
        ca,
        leaf,
    ]
    assert subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip().endswith("OK")


def test_certificates_are_short_and_within_what_devices_accept(tmp_path):
    """At most 825 days, SHA-256, names in the extension, for servers (Apple, "Requirements for trusted certificates in iOS 13
    and macOS 10.15", from memory)."""
    authority = authority_in(tmp_path)
    leaf = issue(authority, SUBJECTS).certificate
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=8)
    assert leaf.signature_hash_algorithm.name == "sha256"
    assert not leaf.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    late = authority.ends - timedelta(hours=1)
    assert issue(authority, SUBJECTS, now=late).certificate.not_valid_after_utc == authority.ends


def test_the_key_is_its_owners_alone_and_two_that_start_at_once_share_it(tmp_path):
    path = tmp_path / "trust" / "authority.pem"
    with ThreadPoolExecutor(4) as pool:
        made = list(pool.map(lambda _: the_authority(path, machine=MACHINE), range(4)))
    assert sorted(new for _, new in made) == [False, False, False, True]
    assert len({authority.fingerprint for authority, _ in made}) == 1
    assert made[0][0].machine == MACHINE
    assert os.name == "nt" or stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [file.name for file in path.parent.iterdir() if file.suffix == ".part"] == []


def broken(authority, how):
    path, whole = authority.path, authority.path.read_bytes()
    end = whole.index(b"-----BEGIN CERTIFICATE")
    other = make_authority(path, machine="")
    match how:
        case "mode":
            path.chmod(0o640)
        case "damaged":
            path.write_bytes(whole[: end // 2])
        case "folder":
            path.unlink()
            path.mkdir()
        case "another's key":
            path.write_bytes(whole[:end] + other.pem)
        case "another's authority":
            leaf = issue(authority, SUBJECTS)
            key = leaf.key.private_bytes(
                serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
            )
            path.write_bytes(key + leaf.certificate.public_bytes(serialization.Encoding.PEM))


@pytest.mark.parametrize(
    ("how", "reason", "words"),
    [
        pytest.param(
            "mode",
            TrustReason.OPEN_TO_OTHERS,
            "chmod 600",
            marks=pytest.mark.skipif(os.name == "nt", reason="no modes"),
        ),
        ("damaged", TrustReason.UNREADABLE, "PEM form"),
        ("folder", TrustReason.UNREADABLE, "cannot be read"),
        ("another's key", TrustReason.FOREIGN, "do not belong together"),
        ("another's authority", TrustReason.FOREIGN, "not one that Pitchbend made"),
    ],
)
def test_a_key_that_is_not_as_it_should_be_is_not_used(tmp_path, how, reason, words):
    authority = authority_in(tmp_path)
    broken(authority, how)
    with pytest.raises(TrustTrouble) as refused:
        authority_in(tmp_path)
    assert refused.value.reason is reason
    sentence = trust_sentence(refused.value)
    assert words in sentence
    assert str(authority.path) in sentence


@pytest.mark.parametrize(
    ("days", "reason", "words"), [(1096, TrustReason.EXPIRED, "forget"), (-2, TrustReason.NOT_YET, "clock")]
)
def test_out_of_its_days_it_is_not_used(tmp_path, days, reason, words):
    made = datetime.now(UTC)
    authority_in(tmp_path, now=made)
    with pytest.raises(TrustTrouble) as refused:
        authority_in(tmp_path, now=made + timedelta(days=days))
    assert refused.value.reason is reason
    assert words in trust_sentence(refused.value)


def test_where_it_cannot_be_kept(tmp_path):
    (tmp_path / "trust").write_text("in the way")
    with pytest.raises(TrustTrouble) as refused:
        authority_in(tmp_path)
    assert refused.value.reason is TrustReason.NOT_WRITTEN


def test_the_certificate_follows_the_addresses_and_the_days(tmp_path):
    addresses, now = ["192.168.7.20"], [datetime.now(UTC)]
    encryption = encryption_in(tmp_path, addresses=addresses, now=lambda: now[0])
    client = trusting(encryption.authority)
    assert not encryption.look()
    assert in_memory(encryption.context, client, "192.168.7.20")
    addresses[:] = ["10.1.1.1", "93.184.216.34"]
    assert encryption.look()
    assert {one for _, one in in_memory(encryption.context, client, "10.1.1.1")["subjectAltName"]} == {
        "localhost", MACHINE, f"{MACHINE}.local", "127.0.0.1", "10.1.1.1",
    }  # fmt: skip
    now[0] += timedelta(days=4)
    assert encryption.look()
    assert encryption.n_issued == 3


def test_the_command_shows_it_and_forgets_it(tmp_path, monkeypatch):
    monkeypatch.setattr("platformdirs.user_data_dir", lambda *_, **__: str(tmp_path))

    def run(*words):
        return CliRunner().invoke(main.app, ["trust", *words], catch_exceptions=False)

    with pytest.raises(CommandFailed, match="no key"):
        run("show")
    authority, _ = the_authority(authority_path(), machine=MACHINE)
    shown = run("show").output
    assert authority.fingerprint in shown
    assert "PRIVATE" not in shown
    assert run("forget", "--yes").exit_code == 0
    assert not authority_path().exists()
    the_authority(authority_path(), machine=MACHINE, now=datetime.now(UTC) - timedelta(days=2000))
    with pytest.raises(CommandFailed, match="ended on"):
        run("show")
    assert read_authority(authority_path(), whatever_the_day=True)


def test_encryption_is_for_others_and_needs_the_port_beside():
    with pytest.raises(CommandFailed, match="--lan --tls"):
        joining_wishes(8787, lan=False, tls=True)
