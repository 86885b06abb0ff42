"""The certificate that the service shows: short-lived, and for this computer's present names and addresses."""

from __future__ import annotations

import ipaddress
import ssl
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from server.tls.authority import BEFORE, Authority, usage
from server.tls.limits import ITSELF, is_local, may_be_named

LASTS: Final = timedelta(days=7)
RENEW_AFTER: Final = LASTS / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class ServerCertificate:
    """A key, and for which names and addresses the authority vouches."""

    key: ec.EllipticCurvePrivateKey = field(repr=False)
    certificate: x509.Certificate

    def load_into(self, context: ssl.SSLContext) -> None:
        """Show it to whoever connects from now on. The library takes keys from files only: it stands in one for a moment."""
        with tempfile.TemporaryDirectory(prefix="pitchbend-") as folder:  # readable by its owner alone
            path = Path(folder) / "server.pem"
            path.write_bytes(
                self.key.private_bytes(
                    serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
                )
                + self.certificate.public_bytes(serialization.Encoding.PEM)
            )
            context.load_cert_chain(path)


def vouched_for(authority: Authority, names: Sequence[str], addresses: Sequence[str]) -> tuple[str, ...]:
    """Give those of the names and addresses that the authority may vouch for, and what the computer calls itself."""
    called = [ITSELF, *(name for name in names if may_be_named(name, authority.machine))]
    reached = ["127.0.0.1", *(address for address in addresses if is_local(address))]
    return tuple(dict.fromkeys(called + reached))


def issue(authority: Authority, subjects: Sequence[str], *, now: datetime | None = None) -> ServerCertificate:
    """Make one for these names and addresses."""
    now = now or datetime.now(UTC)
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, authority.name)])
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(authority.certificate.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(max(now - BEFORE, authority.certificate.not_valid_before_utc))
        .not_valid_after(min(now + LASTS, authority.ends))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage(digital_signature=True), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName([_general(one) for one in subjects]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key()), critical=False)
        .sign(authority.key, hashes.SHA256())
    )
    return ServerCertificate(key=key, certificate=certificate)


def _general(subject: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(subject))
    except ValueError:
        return x509.DNSName(subject)
