"""What the API says when it cannot do what was asked: RFC 9457, with a code of our own.

A problem has no type but `about:blank`, so its title is the status's own phrase (section 4.2.1 there); `code` tells them
apart, and `detail` is a sentence for the person.
"""

from __future__ import annotations

import logging
from enum import StrEnum
from http import HTTPStatus
from typing import Final

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import Field
from starlette.exceptions import HTTPException

from server.store.errors import StoreError
from server.store_advice import store_sentence
from server.wire_base import Message

_log = logging.getLogger(__name__)

PROBLEM_JSON: Final = "application/problem+json"


class ProblemCode(StrEnum):
    """Why not."""

    BAD_REQUEST = "bad_request"
    """Something in the request is not as the API's description wants it."""
    BAD_CURSOR = "bad_cursor"
    NO_SUCH_ADDRESS = "no_such_address"
    NO_SUCH_PLAYER = "no_such_player"
    NO_SUCH_PRACTICE = "no_such_practice"
    NO_SUCH_REP = "no_such_rep"
    NO_SUCH_NOTE = "no_such_note"
    NO_SUCH_UPLOAD = "no_such_upload"
    NO_TRACE = "no_trace"
    """The recording does not hold this swing any more, or too little of it."""
    RECORDING_GONE = "recording_gone"
    """It is not where it was, or has changed."""
    NOT_WORKED_OUT = "not_worked_out"
    """Working the recording out failed."""
    NO_POSE = "no_pose"
    """At this instant nothing is known to change."""
    TOO_MANY = "too_many"
    TOO_LARGE = "too_large"
    NOT_A_RECORDING = "not_a_recording"
    """What was sent is none, or not a whole one."""
    NOT_CONFIRMED = "not_confirmed"
    """What cannot be undone was asked for without saying so."""
    DISK = "disk"
    """What was sent could not be kept."""
    WRONG_METHOD = "wrong_method"
    VIEWERS_WATCH = "viewers_watch"
    NOT_YOURS = "not_yours"
    OTHER_ORIGIN = "other_origin"
    """A page of somebody else's asks."""
    STORE = "store"
    """The store cannot be used now."""
    BUG = "bug"


class ProblemDetails(Message):
    """An answer that is no success."""

    type: str
    title: str
    status: int = Field(ge=400, le=599)
    detail: str = Field(description="a sentence for the person: whose fault it is, and what to do")
    code: ProblemCode


class ApiProblem(Exception):
    """Raised by a route; becomes the answer."""

    def __init__(self, status: int, code: ProblemCode, detail: str) -> None:
        self.status = status
        self.code = code
        self.detail = detail
        super().__init__(f"{code.value}: {detail}")


def problem_response(status: int, code: ProblemCode, detail: str) -> JSONResponse:
    """Write it out."""
    told = ProblemDetails(type="about:blank", title=HTTPStatus(status).phrase, status=status, detail=detail, code=code)
    headers = {"Cache-Control": "no-store"}
    return JSONResponse(told.model_dump(mode="json"), status, headers=headers, media_type=PROBLEM_JSON)


def handle_problems(app: FastAPI) -> None:
    """Make every answer that is no success a problem of this form."""

    @app.exception_handler(ApiProblem)
    async def own(_: Request, problem: ApiProblem) -> JSONResponse:
        return problem_response(problem.status, problem.code, problem.detail)

    @app.exception_handler(RequestValidationError)
    async def invalid(_: Request, error: RequestValidationError) -> JSONResponse:
        return problem_response(422, ProblemCode.BAD_REQUEST, _invalid_sentence(error))

    @app.exception_handler(HTTPException)
    async def unrouted(_: Request, error: HTTPException) -> JSONResponse:
        match error.status_code:
            case 404:
                return problem_response(404, ProblemCode.NO_SUCH_ADDRESS, "There is nothing at this address.")
            case 405:
                said = "That cannot be done at this address."
                answer = problem_response(405, ProblemCode.WRONG_METHOD, said)
                answer.headers.update(error.headers or {})
                return answer
            case 413:
                return problem_response(413, ProblemCode.TOO_LARGE, "More was sent than anything here needs.")
            case status:
                return problem_response(status, ProblemCode.BAD_REQUEST, str(error.detail))

    @app.exception_handler(StoreError)
    async def store(_: Request, error: StoreError) -> JSONResponse:
        return problem_response(503, ProblemCode.STORE, store_sentence(error))

    @app.exception_handler(Exception)
    async def bug(_: Request, error: Exception) -> JSONResponse:
        _log.error("a bug in the API", exc_info=error)
        said = "Pitchbend has a fault here. Nothing that was recorded is touched; try again, and tell its makers."
        return problem_response(500, ProblemCode.BUG, said)


def _invalid_sentence(error: RequestValidationError) -> str:
    """Name the first thing that is wrong, and where."""
    first = error.errors()[0]
    where = ".".join(str(part) for part in first["loc"][1:]) or str(first["loc"][0])
    return f"{where}: {first['msg'].removeprefix('Value error, ')}."
