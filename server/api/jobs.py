"""Work that takes long, one job after the other, each in a process of its own: what runs live beside it keeps its processor."""

from __future__ import annotations

import contextlib
import multiprocessing
import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any, Final

from sensors.errors import SensorsError
from server.child_process import MODEST, leave_ctrl_c, step_back
from server.file_advice import cause_of
from server.store.errors import StoreError
from server.store_advice import store_sentence

_SPAWN: Final = multiprocessing.get_context("spawn")
Report = Callable[[float], None]
Task = Callable[..., Any]
"""A function of a module, called with its arguments and, last, where to report how much is done."""


@dataclass(frozen=True, slots=True)
class _Over:
    """The last thing that the other process says."""

    result: Any = None
    problem: str = ""


class Job:
    """One piece of work. `done` goes from 0 to 1; once `over` is set, `problem` says why it failed, or is empty with `result`."""

    def __init__(self, task: Task, args: tuple[Any, ...]) -> None:
        self.task = task
        self.args = args
        self.done = 0.0
        self.problem = ""
        self.result: Any = None
        self.over = threading.Event()


class Jobs:
    """A thread that starts when there is something to do, and sees to one process at a time."""

    def __init__(self) -> None:
        self._waiting: queue.SimpleQueue[Job | None] = queue.SimpleQueue()
        self._thread: threading.Thread | None = None
        self._process: multiprocessing.process.BaseProcess | None = None
        self._lock = threading.Lock()
        self._closed = False

    def begin(self, task: Task, *args: Any) -> Job:
        """Put work at the end of the queue."""
        job = Job(task, args)
        with self._lock:
            if self._thread is None:
                self._thread = threading.Thread(target=self._see_to, name="jobs", daemon=True)
                self._thread.start()
        self._waiting.put(job)
        return job

    def close(self) -> None:
        """End what runs; what waits is not begun."""
        with self._lock:
            self._closed = True
            if self._process is not None:
                self._process.terminate()
        self._waiting.put(None)
        if self._thread is not None:
            self._thread.join()

    def _see_to(self) -> None:
        while (job := self._waiting.get()) is not None:
            try:
                self._run(job)
            except OSError as error:
                job.problem = cause_of(error)
            finally:
                job.over.set()

    def _run(self, job: Job) -> None:
        ours, theirs = _SPAWN.Pipe(duplex=False)
        process = _SPAWN.Process(target=_work, args=(theirs, job.task, job.args), daemon=True, name="pitchbend job")
        with self._lock:
            if self._closed:
                job.problem = "Pitchbend is being stopped"
                return
            process.start()
            self._process = process
        theirs.close()
        job.problem = "it ended before it was done"
        with contextlib.suppress(EOFError):  # its end of the pipe closes with it
            while True:
                told = ours.recv()
                if isinstance(told, _Over):
                    job.result, job.problem = told.result, told.problem
                else:
                    job.done = told
        process.join()
        with self._lock:
            self._process = None


def _work(pipe: Connection, task: Task, args: tuple[Any, ...]) -> None:
    """Run in the other process."""
    leave_ctrl_c()
    step_back(MODEST)
    try:
        pipe.send(_Over(task(*args, pipe.send)))
    except (SensorsError, OSError) as error:
        pipe.send(_Over(problem=cause_of(error)))
    except StoreError as error:
        pipe.send(_Over(problem=store_sentence(error)))
