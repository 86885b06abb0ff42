"""Who works an archive out: processes of this computer, or those of a Dask scheduler that is there already."""

from __future__ import annotations

import time
from collections.abc import Callable, Generator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from multiprocessing import get_context
from pathlib import Path
from typing import Final

from server.child_process import leave_ctrl_c
from server.reanalysis.one_file import Outcome, Worked, work_out

LOOK_EVERY_S: Final = 0.25
"""While nothing is done whoever shows progress is called so often."""


class NoCluster(Exception):
    """The scheduler cannot be used; the sentence says why."""


def work_here(
    paths: list[Path], out: Path, n_workers: int, look: Callable[[], object] = lambda: None
) -> Generator[Worked]:
    """Give each file as it is done. Closed early (Ctrl-C), it loses what is under way and nothing else."""
    pool = ProcessPoolExecutor(n_workers, mp_context=get_context("spawn"), initializer=leave_ctrl_c)
    try:
        waiting = {pool.submit(work_out, path, out): path for path in paths}
        while waiting:
            done, _ = wait(waiting, LOOK_EVERY_S, return_when=FIRST_COMPLETED)
            look()
            for future in done:
                yield _result(future, waiting.pop(future))
    finally:
        processes = list((pool._processes or {}).values())  # noqa: SLF001  # there is no public way before Python 3.14
        pool.shutdown(wait=False, cancel_futures=True)
        for process in processes:
            process.terminate()


def work_on_cluster(
    paths: list[Path], out: Path, address: str, look: Callable[[], object] = lambda: None
) -> Generator[Worked]:
    """Give each file as it is done. Its computers must find recordings and folder under the same names. Raises `NoCluster`."""
    try:
        from distributed import Client, as_completed  # noqa: PLC0415  # an extra: only for those who ask for it
    except ImportError:
        raise NoCluster('Dask is not installed here. Run: pip install "pitchbend[cluster]"') from None
    try:
        client = Client(address, timeout="10s")
    except (OSError, TimeoutError, ValueError) as error:
        raise NoCluster(
            f"No Dask scheduler answers at {address} ({error}). Check the address, and that it runs."
        ) from error
    with client:
        waiting = {client.submit(work_out, path, out, pure=False): path for path in paths}
        finished = as_completed(list(waiting))
        while not finished.is_empty():
            for future in finished.next_batch(block=False):
                failure = future.exception()
                yield _lost(waiting[future], failure) if failure is not None else future.result()
            look()
            if not finished.has_ready() and not finished.is_empty():
                time.sleep(LOOK_EVERY_S)


def _result(future: Future[Worked], path: Path) -> Worked:
    error = future.exception()
    return future.result() if error is None else _lost(path, error)


def _lost(path: Path, error: BaseException) -> Worked:
    return Worked(
        path=str(path), outcome=Outcome.FAILED, problem=f"its worker failed ({type(error).__name__}: {error})"
    )
