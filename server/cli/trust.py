"""`pitchbend trust`: the key by which devices recognise this computer."""

from __future__ import annotations

from typing import Annotated

import typer

from server.cli.failures import CommandFailed, tell
from server.tls.trouble import TrustReason, TrustTrouble, trust_sentence

app = typer.Typer(
    name="trust",
    no_args_is_help=True,
    help="The key by which devices recognise this computer with **--lan --tls**: see it, and be rid of it.",
)

NONE = "There is no key for --tls on this computer yet. The first start with --lan --tls makes one."


@app.command("show")
def show() -> None:
    """Show this computer's certificate: its name, its number to compare, when it ends, and where it is kept."""
    from server.tls.authority import authority_path, check_day, read_authority  # noqa: PLC0415  # its library comes only when needed

    path = authority_path()
    if not path.exists():
        raise CommandFailed(NONE)
    try:
        authority = read_authority(path, whatever_the_day=True)
    except TrustTrouble as trouble:
        raise CommandFailed(trust_sentence(trouble)) from None
    print(f"Name:    {authority.name}")
    print(f"SHA-256: {authority.fingerprint}")
    print(f"Until:   {authority.ends:%Y-%m-%d}")
    print("For:     this computer's names and addresses in local networks, and nothing else")
    print(f"Key:     {path} (give it to nobody)")
    print()
    print(authority.pem.decode(), end="")
    try:
        check_day(authority)
    except TrustTrouble as trouble:
        raise CommandFailed(trust_sentence(trouble)) from None


@app.command("forget")
def forget(*, yes: Annotated[bool, typer.Option("--yes", help="Do not ask first.")] = False) -> None:
    """Delete the key. Devices then trust this computer no more until they are told to trust the next one."""
    from server.tls.authority import authority_path  # noqa: PLC0415  # as above

    path = authority_path()
    if not path.exists():
        raise CommandFailed(NONE)
    if not yes:
        typer.confirm("Delete this computer's key for --tls? Each device must then trust a new one", abort=True)
    try:
        path.unlink()
    except OSError as error:
        trouble = TrustTrouble(TrustReason.NOT_WRITTEN, path.parent, detail=error.strerror or str(error))
        raise CommandFailed(trust_sentence(trouble)) from error
    tell("Deleted. Devices that trusted it still list it: the page /trust says how each drops it.")
