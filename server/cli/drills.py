"""`pitchbend drills`: what can be practised."""

from __future__ import annotations

from pathlib import Path

from rich.box import SIMPLE
from rich.console import Console
from rich.table import Table

from fusion.drills.course import CueShare
from fusion.drills.drill import Drill
from fusion.drills.quantity import Unit
from server.cli.failures import CommandFailed, tell
from server.drills import PATTERN, DrillFileError, DrillText, catalogue, own_drills, own_folder, read_drill

_SHARES = {CueShare.EVERY: "every rep", CueShare.HALF: "half", CueShare.QUARTER: "a quarter", CueShare.NONE: "test"}


def drills() -> None:
    """List the drills, in teaching order.

    Choose one with **pitchbend live --drill NAME**, or on the page. Files of your own are taken from the folder named below;
    copy one of ours to begin with.
    """
    table = Table(box=SIMPLE, pad_edge=False)
    table.add_column("name", no_wrap=True)
    for name in ("drill", "band", "reps: cued"):
        table.add_column(name)
    for one in catalogue():
        table.add_row(one.id, f"[bold]{one.drill.name}[/]\n{one.drill.aim}", _band(one.drill), _blocks(one.drill))
    console = Console()
    console.print(table)
    console.print(f"Your own: {own_folder() / PATTERN}", soft_wrap=True, highlight=False)
    for error in own_drills()[1]:
        tell(f"Left out: {error}")


def chosen_drill(name: str | None) -> DrillText | None:
    """Find a drill by its name or its file; None for None. Raises `CommandFailed`."""
    if name is None:
        return None
    found = next((one for one in catalogue() if one.id == name), None)
    if found is not None:
        return found
    path = Path(name)
    if path.suffix != ".toml" and not path.exists():
        names = ", ".join(one.id for one in catalogue())
        raise CommandFailed(f"There is no drill {name!r}. There are: {names}; or give a file that ends in .toml.")
    try:
        return read_drill(path)
    except DrillFileError as error:
        raise CommandFailed(f"That drill cannot be used. {error}. Its form: shared/drills/README.md") from error


def _band(drill: Drill) -> str:
    unit = drill.quantity.unit
    low, high = unit.shown(drill.low), unit.shown(drill.high)
    match unit:
        case Unit.DEG:
            return f"{low:.0f}° to {high:.0f}°"
        case Unit.S:
            return f"{low:g} s to {high:g} s"
        case Unit.RATIO:
            return f"{low:g} to {high:g} to 1"


def _blocks(drill: Drill) -> str:
    return ", ".join(f"{block.n_reps}: {_SHARES[block.cue]}" for block in drill.blocks) or "no end"
