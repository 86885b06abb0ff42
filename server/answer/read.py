"""Finds an answer in a recording."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from sensors.record.attachments import read_attachments
from server.answer.build import ANSWER_NAME
from server.answer.form import Answer, AnswerInvalid, answer_from

MAX_ANSWER_BYTES: Final = 2**20


def read_answer(path: Path) -> Answer | None:
    """Give what a coach says in this recording; None when nobody does.

    Raises `RecordingError` for the recording and `AnswerInvalid` for an answer that cannot be used.
    """
    for one in read_attachments(path):
        if one.name == ANSWER_NAME:
            if len(one.data) > MAX_ANSWER_BYTES:
                raise AnswerInvalid("it is too long")
            return answer_from(one.data)
    return None
