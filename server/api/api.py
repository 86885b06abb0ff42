"""Puts the API together, over one store."""

from __future__ import annotations

from typing import Any, Final

from fastapi import Depends, FastAPI
from fastapi.openapi.utils import get_openapi
from fastapi.routing import APIRoute

from sensors.record.writer import program_version
from server.api import answers, drills, notes, players, practices, progress, recordings, reps, trace, what_if
from server.api.archive import Archive
from server.api.errors import PROBLEM_JSON, ProblemDetails, handle_problems
from server.api.mount import PREFIX
from server.api.sight import may_see
from server.api.small import SmallBodies
from server.joining.guest import PlayerOf

OPEN: Final = (drills.router,)
"""What is nobody's: for everybody who is let in."""
STORED: Final = (
    players.router,
    progress.router,
    practices.router,
    notes.router,
    answers.router,
    reps.router,
    trace.router,
    what_if.router,
    recordings.router,
)
"""In the order of the description; a new resource is one more file and one more place here. `server.api.sight` guards them."""


def make_api(archive: Archive, player_of: PlayerOf = lambda _: "") -> FastAPI:
    """Make the application that answers under `PREFIX`."""
    app = FastAPI(
        title="Pitchbend",
        version=program_version(),
        docs_url=None,
        redoc_url=None,
        openapi_url="/openapi.json",
        generate_unique_id_function=_name,
    )
    app.state.archive = archive
    app.state.player_of = player_of
    for router in STORED:
        app.include_router(router, dependencies=[Depends(may_see)])
    for router in OPEN:
        app.include_router(router)
    handle_problems(app)
    app.add_middleware(SmallBodies)
    app.openapi = lambda: describe(app)  # type: ignore[method-assign]  # FastAPI's own way of changing it
    return app


def describe(app: FastAPI) -> dict[str, Any]:
    """Give the description: OpenAPI, with problems in the form that they really have."""
    if app.openapi_schema is None:
        document = get_openapi(
            title="Pitchbend",
            version="1",
            summary="Practices, reps and swings of the store, and their recordings.",
            description="Prose in docs/api.md. Angles in degrees, times in seconds, lengths in metres; absent is null.",
            routes=app.routes,
        )
        document["servers"] = [{"url": PREFIX}]
        schemas = document.setdefault("components", {}).setdefault("schemas", {})
        for name in ("HTTPValidationError", "ValidationError"):
            schemas.pop(name, None)
        problem = ProblemDetails.model_json_schema(ref_template="#/components/schemas/{model}", mode="serialization")
        schemas.update(problem.pop("$defs", {}))
        schemas["ProblemDetails"] = problem
        told = {PROBLEM_JSON: {"schema": {"$ref": "#/components/schemas/ProblemDetails"}}}
        for path in document["paths"].values():
            for operation in path.values():
                answers = operation["responses"]
                answers.pop("422", None)
                answers["default"] = {"description": "It could not be done.", "content": told}
        app.openapi_schema = document
    return app.openapi_schema


def _name(route: APIRoute) -> str:
    return route.name
