"""Many clients at one page's server, most of them rude; then it is stopped in the middle of them.

Run ``python -m tests.benchmarks.bench_load [seconds]``: 64 clients for 60 s on loopback drop good,
broken, foreign and oversized files, send some a drop at a time, ask, and keep jobs. Then SIGTERM,
while they go on: every job that was answered must lie whole in the workspace. Fast answers are
those that wait for no file's pixels and no order's reckoning: the page, its scripts, how far a
file is, refusals, the list of jobs.
"""

from __future__ import annotations

import asyncio
import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from importlib import resources
from itertools import count
from pathlib import Path
from typing import Any

import httpx2

from artcheck.web.folders import KeptJob
from tests.web.conftest import asked

SECONDS = 60
CLIENTS = 64
TARGET_P95_S = 1.0
PAUSE_S = 0.5
"""Between one client's requests: hands are not faster."""
PATIENCE_S = 90.0
"""How much longer the load may go on until all that is to be seen has been."""
EXPECTED = {200, 400, 403, 404, 413, 422}
"""Answers that these clients provoke."""

ART = (resources.files("artcheck") / "demo" / "art" / "2-bakery.png").read_bytes()


@dataclass(slots=True)
class Seen:
    """What came of it. Times in seconds, memory in bytes."""

    statuses: Counter[int] = field(default_factory=Counter)
    fast: list[float] = field(default_factory=list)
    reckoned: list[float] = field(default_factory=list)
    slow_uploads: Counter[str] = field(default_factory=Counter)
    jobs: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    """What was said to good requests that were refused."""
    measured: int = 0
    server_bytes: int = 0
    all_bytes: int = 0
    exit_code: int | None = None
    stopped_in: float = 0.0
    broken_jobs: list[str] = field(default_factory=list)
    left: list[int] = field(default_factory=list)
    """Processes of the server's that outlived it."""
    told: str = ""
    """What the server wrote on standard error."""

    def met(self) -> bool:
        """Whether every kind of answer and a kept job came: a busy machine takes its time."""
        return bool(self.jobs and self.measured) and set(self.statuses) >= EXPECTED

    def server_faults(self) -> int:
        return sum(n for status, n in self.statuses.items() if status >= 500)


class Client:
    """One sender; every answer is counted."""

    def __init__(self, http: httpx2.AsyncClient, seen: Seen, number: int) -> None:
        self.http, self.seen, self.number = http, seen, number
        self.numbers = count(1)

    def own_art(self) -> bytes:
        """The same picture as a file of its own."""
        return ART + f"{self.number}-{next(self.numbers)}".encode()

    async def ask(self, times: list[float] | None, method: str, path: str, **what: Any) -> Any:
        start = time.perf_counter()
        answer = await self.http.request(method, path, **what)
        if times is not None:
            times.append(time.perf_counter() - start)
        self.seen.statuses[answer.status_code] += 1
        await asyncio.sleep(PAUSE_S)
        return answer

    async def fast(self, method: str, path: str, **what: Any) -> Any:
        return await self.ask(self.seen.fast, method, path, **what)

    async def dropped(self, data: bytes) -> str:
        put = await self.ask(None, "PUT", "/api/art", params={"name": "a.png"}, content=data)
        if put.status_code != 200:
            self.seen.refused.append(put.text)
            return ""
        digest: str = put.json()["art"]
        while (await self.fast("GET", f"/api/art/{digest}")).json().get("state") == "measuring":
            pass
        self.seen.measured += 1
        return digest


async def good(client: Client) -> None:
    await client.dropped(client.own_art())


async def asking(client: Client) -> None:
    """A designer at the desk."""
    order = asked(await client.dropped(ART))
    for path in ("/", "/static/main.js", "/api/jobs"):
        await client.fast("GET", path)
    for width in (3, 4, 5):
        order["order"]["prints"][0]["width_in"] = width + client.number / 100
        await client.ask(client.seen.reckoned, "POST", "/api/evaluate", json=order)


async def keeping(client: Client) -> None:
    order = asked(await client.dropped(ART))
    answer = await client.ask(client.seen.reckoned, "POST", "/api/jobs", json=order)
    if answer.status_code == 200:
        client.seen.jobs.append(answer.json()["job"])
    else:
        client.seen.refused.append(answer.text)
    await asyncio.sleep(5)


async def bad(client: Client) -> None:
    await client.dropped(client.own_art()[: len(ART) // 2])
    for name, data in (("../../x.png", b"MZ no picture"), ("a\x00\u202e<script>.png", b"")):
        await client.fast("PUT", "/api/art", params={"name": name}, content=data)
    await client.fast("POST", "/api/evaluate", content=b"[" * 9999)
    await client.fast("GET", "/jobs/..%2F..%2Fetc/report.html")
    await client.fast("GET", "/", headers={"host": "evil.example"})
    await client.fast("POST", "/api/jobs", headers={"origin": "http://evil.example"}, json={})


async def oversized(client: Client) -> None:
    """One that says how large it is, and one that never says so and goes on for 24 MB."""
    host, port = client.http.base_url.host, client.http.base_url.port
    start = time.perf_counter()
    reader, writer = await asyncio.open_connection(host, port)
    head = f"PUT /api/art HTTP/1.1\r\nHost: {host}:{port}\r\nContent-Length: {10**12}\r\n\r\n"
    writer.write(head.encode())
    client.seen.statuses[int((await reader.readline()).split()[1])] += 1
    client.seen.fast.append(time.perf_counter() - start)
    writer.close()

    async def much() -> Any:
        for _ in range(24):
            yield bytes(1024**2)

    await client.ask(None, "PUT", "/api/art", content=much())


async def slow(client: Client) -> None:
    """A hundred bytes each half second, never done."""

    async def drops() -> Any:
        while True:
            yield bytes(100)
            await asyncio.sleep(0.5)

    try:
        await client.ask(None, "PUT", "/api/art", content=drops(), timeout=15)
    except httpx2.TimeoutException:
        client.seen.slow_uploads["gave up itself"] += 1


ROLES: tuple[Callable[[Client], Awaitable[None]], ...] = (
    *(good, asking, bad, good, asking, slow, bad, oversized),
    *(good, asking, bad, keeping, asking, slow, bad, asking),
)


async def _live(client: Client, role: Callable[[Client], Awaitable[None]]) -> None:
    while True:
        try:
            await role(client)
        except (
            httpx2.TransportError,
            ConnectionError,
        ) as end:  # the server's refusal may overtake a body
            client.seen.slow_uploads[type(end).__name__] += 1
            await asyncio.sleep(PAUSE_S)


async def _load(address: str, process: int, seen: Seen, seconds: float, clients: int) -> None:
    limits = httpx2.Limits(max_connections=None)
    async with httpx2.AsyncClient(base_url=address, limits=limits, timeout=60) as http:
        tasks = [
            asyncio.create_task(_live(Client(http, seen, n), ROLES[n % len(ROLES)]))
            for n in range(clients)
        ]
        end = time.monotonic() + seconds
        while time.monotonic() < end or not (seen.met() or time.monotonic() > end + PATIENCE_S):
            await asyncio.sleep(0.5)
            _weigh(process, seen)
            for task in tasks:
                if task.done():
                    task.result()
        os.kill(process, signal.SIGTERM)
        await asyncio.sleep(2)
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)


def _weigh(process: int, seen: Seen) -> None:
    """Resident memory of the server, and with the processes that it has started."""
    sizes: dict[int, tuple[int, int]] = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        resident = int(fields[21]) * os.sysconf("SC_PAGESIZE")
        sizes[int(stat.parent.name)] = int(fields[1]), resident
    own = sizes.get(process, (0, 0))[1]
    children = sum(size for parent, size in sizes.values() if parent == process)
    seen.left += [n for n, (parent, _) in sizes.items() if parent == process and n not in seen.left]
    seen.server_bytes = max(seen.server_bytes, own)
    seen.all_bytes = max(seen.all_bytes, own + children)


def _lives(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True


def whole(folder: Path) -> bool:
    """Whether a kept job can be read again, its art with the hash that was noted."""
    import hashlib

    try:
        job = KeptJob.model_validate_json((folder / "job.json").read_bytes())
        json.loads((folder / "report.json").read_bytes())
        arts = [(folder / art.file).read_bytes() for art in job.arts]
    except (OSError, ValueError):
        return False
    ends = (folder / "report.html").read_text("utf-8").rstrip().endswith("</html>")
    digests = [hashlib.sha256(data).hexdigest() for data in arts]
    return ends and digests == [art.digest for art in job.arts]


def run(workspace: Path, seconds: float, clients: int = CLIENTS) -> Seen:
    """The load, the stop, and what was left."""
    seen = Seen()
    command = [sys.executable, "-m", "artcheck", "serve", "--port", "0"]
    environment = os.environ | {"PYTHONUNBUFFERED": "1", "COLUMNS": "200"}
    command += ["--workspace", str(workspace)]
    with (
        tempfile.TemporaryFile("w+") as told,
        subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=told, text=True, env=environment
        ) as process,
    ):
        try:
            assert process.stdout is not None
            address = re.search(r"http://\S+/", process.stdout.readline())
            assert address is not None
            asyncio.run(_load(address[0], process.pid, seen, seconds, clients))
            start = time.monotonic()
            seen.exit_code = process.wait(60)
            seen.left = [number for number in seen.left if _lives(number)]
            seen.stopped_in = time.monotonic() - start + 2
        finally:
            process.kill()
        told.seek(0)
        seen.told = told.read()
    seen.broken_jobs = [name for name in seen.jobs if not whole(workspace / name)]
    visible = [path for path in workspace.iterdir() if not path.name.startswith(".")]
    seen.broken_jobs += [path.name for path in visible if not whole(path)]
    return seen


def p95(times: list[float]) -> float:
    return sorted(times)[int(len(times) * 0.95)] if times else float("nan")


def main(seconds: float) -> None:
    with tempfile.TemporaryDirectory() as place:
        seen = run(Path(place) / "jobs", seconds)
    kept = "kept" if p95(seen.fast) < TARGET_P95_S else "MISSED"
    mb = 1024**2
    print(f"{CLIENTS} clients, {seconds:.0f} s: {sum(seen.statuses.values())} answers")
    print(
        f"by status: {dict(sorted(seen.statuses.items()))}; 5xx: {seen.server_faults()},"
        f" tracebacks of the server: {seen.told.count('Traceback')}"
    )
    print(f"good requests refused: {len(seen.refused)} {set(seen.refused) or ''}")
    print(f"files measured: {seen.measured}; cut off or given up: {dict(seen.slow_uploads)}")
    print(f"fast answers: {len(seen.fast)}, p95 {p95(seen.fast):.2f} s; target 1 s {kept}")
    print(f"reckoned answers: {len(seen.reckoned)}, p95 {p95(seen.reckoned):.2f} s")
    print(f"most memory: {seen.server_bytes / mb:.0f} MB, with workers {seen.all_bytes / mb:.0f}")
    print(
        f"stopped in the middle: exit {seen.exit_code} after {seen.stopped_in:.1f} s;"
        f" jobs answered {len(seen.jobs)}, not whole {len(seen.broken_jobs)}, processes left"
        f" {len(seen.left)}"
    )


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else SECONDS)
