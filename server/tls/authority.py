"""The authority of this computer: a key, and a certificate that devices are told to trust. Made once, in one private file.

Rule 1: it vouches for local names and addresses only (`limits`), for servers only, and for no other authority.
Rule 2: its key is readable by its owner alone, and an authority that is not as we make it is not used.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

import platformdirs
from cryptography import x509
from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from filelock import FileLock

from server.tls.limits import ITSELF, LOCAL_DOMAIN, LOCAL_NETWORKS, is_label
from server.tls.trouble import TrustReason, TrustTrouble

LASTS: Final = timedelta(days=3 * 365)
ORGANISATION: Final = "Pitchbend"
BEFORE: Final = timedelta(days=1)
"""Valid from a day before: a phone's clock may be slow."""
_MOST_BYTES: Final = 65_536
_PRIVATE: Final = 0o600


@dataclass(frozen=True, slots=True, kw_only=True)
class Authority:
    """A key and its certificate."""

    key: ec.EllipticCurvePrivateKey = field(repr=False)
    certificate: x509.Certificate
    path: Path

    @property
    def name(self) -> str:
        """As lists of certificates show it."""
        return str(self.certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value)

    @property
    def machine(self) -> str:
        """What the computer was called when it was made; empty when its name was none for a network."""
        constraints = self.certificate.extensions.get_extension_for_class(x509.NameConstraints).value
        names = [one.value for one in constraints.permitted_subtrees or () if isinstance(one, x509.DNSName)]
        return next((name for name in names if name not in (ITSELF, LOCAL_DOMAIN)), "")

    @property
    def ends(self) -> datetime:
        """When it is over."""
        return self.certificate.not_valid_after_utc

    @property
    def fingerprint(self) -> str:
        """Of the certificate, SHA-256, in pairs, as devices show it."""
        return self.certificate.fingerprint(hashes.SHA256()).hex(" ").upper()

    @property
    def der(self) -> bytes:
        """The certificate as devices take it."""
        return self.certificate.public_bytes(serialization.Encoding.DER)

    @property
    def pem(self) -> bytes:
        """The certificate as programs take it."""
        return self.certificate.public_bytes(serialization.Encoding.PEM)


def authority_path() -> Path:
    """Where it is kept."""
    return Path(platformdirs.user_data_dir("pitchbend", appauthor=False)) / "trust" / "authority.pem"


def the_authority(path: Path, *, machine: str, now: datetime | None = None) -> tuple[Authority, bool]:
    """Read it, or make it; True when it was made just now. Raises `TrustTrouble`."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with FileLock(path.with_suffix(".lock"), mode=_PRIVATE):  # two that start at once share one
            if path.exists():
                return read_authority(path, now=now), False
            made = make_authority(path, machine=machine, now=now)
            _keep(made)
    except OSError as error:
        raise TrustTrouble(TrustReason.NOT_WRITTEN, path.parent, detail=error.strerror or str(error)) from error
    return made, True


def make_authority(path: Path, *, machine: str, now: datetime | None = None) -> Authority:
    """Make one; nothing is written yet."""
    now = now or datetime.now(UTC)
    key = ec.generate_private_key(ec.SECP256R1())
    named = machine if is_label(machine) else ""
    name = x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, ORGANISATION),
            x509.NameAttribute(NameOID.COMMON_NAME, f"Pitchbend on {named or 'this computer'}, {now:%Y-%m-%d}"[:64]),
        ]
    )
    allowed: list[x509.GeneralName] = [x509.DNSName(one) for one in (ITSELF, LOCAL_DOMAIN, named) if one]
    allowed.extend(x509.IPAddress(network) for network in LOCAL_NETWORKS)
    identifier = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BEFORE)
        .not_valid_after(now + LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage(key_cert_sign=True), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.NameConstraints(permitted_subtrees=allowed, excluded_subtrees=None), critical=True)
        .add_extension(identifier, critical=False)
        .sign(key, hashes.SHA256())
    )
    return Authority(key=key, certificate=certificate, path=path)


def usage(*, key_cert_sign: bool = False, digital_signature: bool = False) -> x509.KeyUsage:
    """What a key is for, and nothing else."""
    return x509.KeyUsage(
        digital_signature=digital_signature,
        key_cert_sign=key_cert_sign,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )


def read_authority(path: Path, *, now: datetime | None = None, whatever_the_day: bool = False) -> Authority:
    """Read it. Raises `TrustTrouble`; for its days not with `whatever_the_day`."""
    try:
        with path.open("rb") as file:
            mode = os.fstat(file.fileno()).st_mode
            content = file.read(_MOST_BYTES)
    except OSError as error:
        raise TrustTrouble(TrustReason.UNREADABLE, path, detail=error.strerror or str(error)) from error
    if os.name == "posix" and stat.S_IMODE(mode) & 0o077:
        raise TrustTrouble(TrustReason.OPEN_TO_OTHERS, path)
    try:
        key = serialization.load_pem_private_key(content, password=None)
        certificate = x509.load_pem_x509_certificate(content)
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:  # TypeError: the key wants a password
        raise TrustTrouble(
            TrustReason.UNREADABLE, path, detail="it is not a key and a certificate in PEM form"
        ) from error
    _check_ours(key, certificate, path)
    assert isinstance(key, ec.EllipticCurvePrivateKey)  # noqa: S101  # by `_check_ours`
    authority = Authority(key=key, certificate=certificate, path=path)
    if not whatever_the_day:
        check_day(authority, now)
    return authority


def check_day(authority: Authority, now: datetime | None = None) -> None:
    """Raise `TrustTrouble` for one that is out of its days."""
    now, certificate = now or datetime.now(UTC), authority.certificate
    if now >= certificate.not_valid_after_utc:
        raise TrustTrouble(TrustReason.EXPIRED, authority.path, when=certificate.not_valid_after_utc)
    if now < certificate.not_valid_before_utc:
        raise TrustTrouble(TrustReason.NOT_YET, authority.path, when=certificate.not_valid_before_utc)


def _check_ours(key: object, certificate: x509.Certificate, path: Path) -> None:
    def unless(fine: Callable[[], bool], detail: str) -> None:
        try:
            if fine():
                return
        except (ValueError, x509.ExtensionNotFound):  # ValueError: an extension that is not one
            pass
        raise TrustTrouble(TrustReason.FOREIGN, path, detail=detail)

    extensions = certificate.extensions
    unless(
        lambda: isinstance(key, ec.EllipticCurvePrivateKey) and key.public_key() == certificate.public_key(),
        "key and certificate do not belong together",
    )
    unless(
        lambda: (
            ORGANISATION in [one.value for one in certificate.subject.get_attributes_for_oid(NameOID.ORGANIZATION_NAME)]
        ),
        "somebody else's name is on it",
    )
    unless(
        lambda: (
            extensions.get_extension_for_class(x509.BasicConstraints).value
            == x509.BasicConstraints(ca=True, path_length=0)
        ),
        "it may make further authorities, or none at all",
    )
    unless(
        lambda: extensions.get_extension_for_class(x509.NameConstraints).critical,
        "it is not limited to local networks",
    )


def _keep(authority: Authority) -> None:
    """Write it, whole or not at all, for its owner alone."""
    content = authority.key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    partly = authority.path.with_suffix(".part")
    partly.unlink(missing_ok=True)
    with os.fdopen(os.open(partly, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _PRIVATE), "wb") as file:
        file.write(content + authority.pem)
        file.flush()
        os.fsync(file.fileno())
    partly.replace(authority.path)
