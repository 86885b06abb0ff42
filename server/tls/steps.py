"""The words of the page `/trust`. Menus are named as they were when this was written; makers move them about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Device:
    """A kind of device: how it comes to trust, and how it stops."""

    name: str
    trust: tuple[str, ...]
    forget: str


DEVICES: Final = (
    Device(
        "iPhone, iPad",
        (
            "Open this page in Safari, tap <b>Get the certificate</b>, then <b>Allow</b>.",
            "Open <b>Settings</b>, tap <b>Profile Downloaded</b> near the top, then <b>Install</b>, twice.",
            "In <b>Settings, General, About, Certificate Trust Settings</b> switch it on. Without this step it has no effect.",
        ),
        "Settings, General, VPN &amp; Device Management: tap it, then <b>Remove Profile</b>.",
    ),
    Device(
        "Android",
        (
            "Tap <b>Get the certificate</b> and keep the file.",
            "Open <b>Settings</b> and search there for <b>CA certificate</b> (Security, Encryption &amp; credentials).",
            "Tap it, then <b>Install anyway</b>.",
            "Choose the file. Chrome trusts it from then on; Firefox only if told so in its own settings.",
        ),
        "Settings, Security, Encryption &amp; credentials, Trusted credentials, User: tap it, then <b>Remove</b>.",
    ),
    Device(
        "Windows",
        (
            "Get the certificate and open the file, then <b>Install Certificate, Current User</b>.",
            "Choose <b>Place all certificates in the following store</b>, then <b>Trusted Root Certification Authorities</b>.",
        ),
        "Run <b>certmgr.msc</b>; Trusted Root Certification Authorities, Certificates: delete it.",
    ),
    Device(
        "Mac",
        (
            "Get the certificate and open the file: <b>Keychain Access</b> takes it in.",
            "Open it there, and under <b>Trust</b> choose <b>Always Trust</b>.",
        ),
        "Keychain Access, login, Certificates: delete it.",
    ),
    Device(
        "Linux, ChromeOS, and Firefox anywhere",
        (
            "Get the certificate.",
            "In the browser's settings search for <b>certificates</b>, open <b>Manage certificates</b>, then <b>Authorities</b>.",
            "Import it there, to identify websites.",
        ),
        "In the same list: delete it.",
    ),
)

MEANS: Final = """
<p>What goes between this device and the computer is then encrypted, and the browser can tell that it is this computer.
It also lets the page keep the screen on.</p>
<p>The certificate is this computer's own. With it, it can vouch for names and addresses of local networks only (names that end
in .local, its own name, and private addresses), for three years, and not for any site of the internet. Trust it only if you
know whose computer this is.</p>
<p>This page itself comes unencrypted, as the device does not trust yet. In a network that you share with strangers compare the
number below with the one on the computer (in its terminal, or by <code>pitchbend trust show</code>) before you trust.</p>
"""
