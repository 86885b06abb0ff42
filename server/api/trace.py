"""`/api/practices/{key}/reps/{number}/trace`: one swing from instant to instant.

A practice's swings are worked out once, beside the service; until then the answer is 202 and how far that has come.
"""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import Any, Final

from fastapi import APIRouter, Response

from fusion.shaft.butt_line import ARM_LENGTH_M
from sensors.errors import SensorsError
from sensors.record import format as fmt
from sensors.record.reader import read_head
from server.analysis.quantities import QUANTITIES
from server.analysis.series_file import POSED, pose_columns
from server.api.archive import Archive
from server.api.asked import Key, Number, TheArchive, practice_id_in, rep_in
from server.api.errors import ApiProblem, ProblemCode
from server.api.trace_models import QuatView, Trace, TraceMark, WorkingOut
from server.store import looking
from server.store.archive import still_there
from server.store.swings import SwingRows

router = APIRouter(tags=["reps"])

TAKES_A_WHILE: Final[dict[int | str, dict[str, Any]]] = {
    202: {"model": WorkingOut, "description": "being worked out: ask again in a moment"}
}

_COLUMNS: Final = [name for quantity in QUANTITIES for name in (quantity.name, quantity.sd_name)]


@router.get(
    "/practices/{key}/reps/{number}/trace",
    response_model=Trace,
    responses=TAKES_A_WHILE,
)
def trace(archive: TheArchive, key: Key, number: Number, response: Response) -> Any:
    """Give one swing from a second before its takeaway to its finish."""
    rep = rep_row(archive, key, number)
    found = swing(archive, key, rep)
    if isinstance(found, WorkingOut):
        return later(found)
    response.headers["Cache-Control"] = "no-cache"
    return trace_of(found, rep)


def later(working: WorkingOut) -> Response:
    """Say how far it is."""
    headers = {"Cache-Control": "no-store"}
    return Response(working.model_dump_json(), status_code=202, media_type="application/json", headers=headers)


def rep_row(archive: Archive, key: str, number: int) -> dict[str, Any]:
    """Look a rep up, with its practice's id. Raises `ApiProblem`, `StoreError`."""
    with archive.database().reading() as connection:
        practice_id = practice_id_in(connection, key)
        return rep_in(connection, practice_id, number)


def swing(archive: Archive, key: str, rep: dict[str, Any]) -> SwingRows | WorkingOut:
    """Read a swing, or have the practice worked out. Raises `ApiProblem`, `StoreError`."""
    shelf = archive.shelf()
    if shelf.has(key):
        with contextlib.suppress(OSError):  # damaged: made anew
            found = shelf.read(key, rep["number"])
            if found is not None:
                return found
            if shelf.is_newer_than(key, recording_path(archive, rep["practice_id"])):
                raise ApiProblem(404, ProblemCode.NO_TRACE, "The recording holds too little of this swing for a trace.")
    job = archive.swings_job(key, lambda: recording_path(archive, rep["practice_id"]))
    if not job.over.is_set():
        return WorkingOut(done=job.done)
    archive.swings_told(key)
    if job.problem:
        said = f"The recording could not be worked out: {job.problem}."
        raise ApiProblem(409, ProblemCode.NOT_WORKED_OUT, said)
    return WorkingOut(done=1.0)


def recording_path(archive: Archive, practice_id: int) -> Path:
    """Find the file that holds a practice from its beginning, as it was. Raises `ApiProblem`, `StoreError`."""
    with archive.database().reading() as connection:
        rows = looking.recordings(connection, practice_id)
    for row in rows:
        path = Path(row["path"])
        try:
            begins = fmt.CONTINUES_NOTE not in read_head(path).notes
        except (OSError, SensorsError):
            continue
        if begins and path.stat().st_size == row["size_bytes"] and still_there(path, row["sha256"]):
            return path
    raise ApiProblem(
        404,
        ProblemCode.RECORDING_GONE,
        "The recording of this practice is not where it was, or has changed. Bring it back, or run `pitchbend store fill` with "
        "the folder where it is now.",
    )


def trace_of(found: SwingRows, rep: dict[str, Any]) -> Trace:
    """Give rows of the store's file their outside form."""
    columns, place, begun_s = found.columns, found.place, rep["takeaway_s"]
    marks = [(mark["name"], mark["at_s"]) for mark in rep["marks"]]
    finish = [] if rep["finish_s"] is None else [("finish", rep["finish_s"])]
    values: dict[str, Any] = {name: columns[name] for name in _COLUMNS}
    values |= {f"q_earth_from_{segment}": _poses(columns, segment) for segment in POSED}
    return Trace(
        number=rep["number"],
        lead_side=place.side,
        arm_length_m=place.butt.arm_length_m if place.butt is not None else ARM_LENGTH_M,
        arm_length_assumed=place.arm_assumed,
        club_length_m=place.club_length_m,
        club_length_assumed=place.club_assumed,
        hub_m=place.butt.hub_m if place.butt is not None else None,
        marks=[TraceMark(name=name, t_s=at_s - begun_s) for name, at_s in [("takeaway", begun_s), *marks, *finish]],
        t_s=[at_s - begun_s for at_s in columns["host_time_s"]],
        phase=columns["phase"],
        quality=columns["quality"],
        **values,
    )


def _poses(columns: dict[str, list[Any]], segment: str) -> list[QuatView | None]:
    parts = zip(*(columns[name] for name in pose_columns(segment)), strict=True)
    return [None if quat[0] is None else quat for quat in parts]
