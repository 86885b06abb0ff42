"""How long a page waits for the HTTP API: opening a practice of a hundred reps, and paging through ten thousand.

    python -m tests.bench.bench_api [REPS] [ROWS]

A simulated practice is recorded and taken into a store; `pitchbend review` is started over it as a person would, and asked over
the network. Then the swings are worked out anew beside the service. Last, a store is filled with copies of its rows. A report,
never a pass or fail.
"""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing, contextmanager, suppress
from pathlib import Path

import httpx
import numpy as np

from sensors.ids import Side
from sensors.record.writer import Recorder
from sensors.virtual.practice import make_practice
from sensors.virtual.session import Player, draw_session
from sensors.virtual.swing import SwingShape
from server.store.database import Database
from server.store.fill import fill
from server.store.shelf import Shelf
from server.web import HOST, listen

PERIOD_S = 15.0


def record(place: Path, n_reps: int) -> None:
    rng = np.random.default_rng(1)
    shapes = [SwingShape(fault=float(rng.uniform(0, 0.8))) for _ in range(n_reps)]
    practice = make_practice(shapes, rng, attitudes=6, spread_over_s=PERIOD_S * n_reps)
    session = draw_session(practice, Player(name="Test Player", lead_side=Side.LEFT, club="7-iron"), 1)
    with Recorder(place) as recorder:
        for event in session.events():
            recorder.write(event)


def filled(folder: Path, *, with_swings: bool) -> float:
    database = Database(folder / "store.sqlite")
    began_s = time.perf_counter()
    list(fill(database, [folder / "a.mcap"], shelf=Shelf.of(database) if with_swings else None))
    database.close()
    return time.perf_counter() - began_s


@contextmanager
def review(store: Path):
    """The command as it is; gives a client, and the time it was started at."""
    with closing(listen(0)) as probe:
        port = probe.getsockname()[1]
    began_s = time.perf_counter()
    words = ["review", "--store", str(store), "--port", str(port), "--no-browser"]
    code = "from server.cli.main import main; main()"
    process = subprocess.Popen([sys.executable, "-c", code, *words], stdout=subprocess.DEVNULL)
    try:
        with httpx.Client(base_url=f"http://{HOST}:{port}/api", timeout=60.0) as api:
            while process.poll() is None:
                with suppress(httpx.TransportError):
                    api.get("/health").raise_for_status()
                    break
                time.sleep(0.02)
            yield api, began_s
    finally:
        process.terminate()
        process.wait()


def times_ms(ask: Callable[[], object], n: int = 30) -> str:
    taken = []
    for _ in range(n):
        began_s = time.perf_counter()
        ask()
        taken.append(1e3 * (time.perf_counter() - began_s))
    return f"{np.median(taken):.0f} ms, 95 % within {np.percentile(taken, 95):.0f}"


def opening(folder: Path) -> None:
    with review(folder / "store.sqlite") as (api, started_s):
        print(f"command to first page: {time.perf_counter() - started_s:.2f} s")
        began_s = time.perf_counter()
        (practice,) = api.get("/practices").json()["items"]
        print(f"first question to the API (it is loaded only now): {1e3 * (time.perf_counter() - began_s):.0f} ms")
        path = f"/practices/{practice['key']}"
        began_s = time.perf_counter()
        page = api.get(f"{path}/reps", params={"limit": 500})
        print(
            f"{len(page.json()['items'])} reps: {1e3 * (time.perf_counter() - began_s):.0f} ms, {len(page.content)} bytes"
        )
        began_s = time.perf_counter()
        trace = api.get(f"{path}/reps/1/trace")
        n_rows = len(trace.json()["t_s"])
        print(
            f"first trace: {1e3 * (time.perf_counter() - began_s):.0f} ms, {n_rows} instants, {len(trace.content)} bytes"
        )
        last = page.json()["items"][-1]["number"]
        print(f"again, reps: {times_ms(lambda: api.get(f'{path}/reps', params={'limit': 500}))}")
        print(f"again, trace of the last rep: {times_ms(lambda: api.get(f'{path}/reps/{last}/trace'))}")
        wondered = {"t_s": 0.5, "bend_by_deg": 10.0, "roll_by_deg": 0.0}
        print(f"again, what-if: {times_ms(lambda: api.post(f'{path}/reps/{last}/what-if', json=wondered))}")
        shutil.rmtree(folder / "store.sqlite.swings")
        began_s = time.perf_counter()
        while api.get(f"{path}/reps/{last}/trace").status_code == 202:
            time.sleep(0.1)
        print(f"first trace when the swings must be worked out: {time.perf_counter() - began_s:.1f} s")


def many(folder: Path, n_rows: int) -> None:
    with closing(sqlite3.connect(folder / "store.sqlite")) as database:
        n = database.execute("SELECT count(*) FROM rep").fetchone()[0]
        for table, own in (("rep", "number"), ("mark", "rep_id")):
            names = [row[1] for row in database.execute(f"PRAGMA table_info({table})") if row[1] not in ("id", own)]
            columns = ", ".join(names)
            moved = f"{own} + {n} * times.n"
            database.execute(
                f"WITH RECURSIVE times(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM times WHERE n < {n_rows // n - 1}) "
                f"INSERT INTO {table} ({own}, {columns}) SELECT {moved}, {columns} FROM {table}, times "
                f"ORDER BY times.n, {table}.id"
            )
        database.commit()
        print(
            database.execute("SELECT (SELECT count(*) FROM rep), (SELECT count(*) FROM mark)").fetchone(), "reps, marks"
        )
    with review(folder / "store.sqlite") as (api, _):
        (practice,) = api.get("/practices").json()["items"]
        for sort in ("number", "-top.bend_change_deg"):
            began_s, n_pages, seen, query = time.perf_counter(), 0, 0, {"limit": 500, "sort": sort}
            while True:
                page = api.get(f"/practices/{practice['key']}/reps", params=query).json()
                n_pages, seen = n_pages + 1, seen + len(page["items"])
                if page["next"] is None:
                    break
                query["after"] = page["next"]
            taken_s = time.perf_counter() - began_s
            print(
                f"by {sort}: {seen} reps in {n_pages} pages, {taken_s:.1f} s, {1e3 * taken_s / n_pages:.0f} ms a page"
            )


def main(n_reps: int, n_rows: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        record(folder / "a.mcap", n_reps)
        plain_s = filled(folder, with_swings=False)
        (folder / "store.sqlite").unlink()
        whole_s = filled(folder, with_swings=True)
        (swings,) = (folder / "store.sqlite.swings").iterdir()
        print(
            f"recording {(folder / 'a.mcap').stat().st_size / 1e6:.1f} MB, swings {swings.stat().st_size / 1e6:.1f} MB"
        )
        print(f"taken in: {plain_s:.1f} s without its swings, {whole_s:.1f} s with them")
        opening(folder)
        many(folder, n_rows)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100, int(sys.argv[2]) if len(sys.argv) > 2 else 10_000)
