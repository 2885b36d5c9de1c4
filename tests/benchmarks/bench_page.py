"""Time of the page's answers to a changed order, on the demo orders, at the server.

Run ``python -m tests.benchmarks.bench_page [rounds]``. Each order is asked again and again with
another width and quantity, as a slider asks; the target is 150 ms.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from importlib import resources
from pathlib import Path
from typing import Any

from fastapi.testclient import TestClient

from artcheck.shop import load_order
from artcheck.web import create_app
from tests.web.conftest import ADDRESS, drop

ROUNDS = 15
TARGET_MS = 150


def main(rounds: int) -> None:
    demo = Path(str(resources.files("artcheck"))) / "demo"
    with (
        tempfile.TemporaryDirectory() as workspace,
        TestClient(create_app(workspace=Path(workspace)), base_url=ADDRESS) as client,
    ):
        page = sum(len(client.get(path).content) for path in _page(client))
        print(f"page: {page / 1024:.0f} KB with its style and scripts, uncompressed")
        for file in sorted((demo / "orders").glob("*.toml")):
            order = load_order(file).model_dump(mode="json")
            arts = []
            for print_ in order["prints"]:
                art = (file.parent / print_["art"]).resolve()
                print_["art"] = art.name
                arts.append(drop(client, art.read_bytes(), art.name))
            print(f"{file.stem:>16}: {_times(client, order, arts, rounds)}")


def _page(client: TestClient) -> list[str]:
    names = sorted(f.name for f in (resources.files("artcheck.web") / "static").iterdir())
    assert client.get("/").status_code == 200
    return ["/", *(f"/static/{name}" for name in names)]


def _times(client: TestClient, order: dict[str, Any], arts: list[str], rounds: int) -> str:
    times, size = [], 0
    pieces = order["garment"]["quantity"]
    for n in range(rounds):
        if pieces is not None:
            order["garment"]["quantity"] = pieces + n
        for print_ in order["prints"]:
            print_["width_in"] = round((print_["width_in"] or 8) * 0.99, 3)
        start = time.perf_counter()
        answer = client.post("/api/evaluate", json={"order": order, "arts": arts})
        times.append((time.perf_counter() - start) * 1e3)
        assert answer.status_code == 200, answer.text
        size = len(answer.content)
    median = statistics.median(times)
    kept = "kept" if median <= TARGET_MS else "MISSED"
    return (
        f"median {median:.0f} ms, longest {max(times):.0f} ms, answer {size / 1024:.0f} KB;"
        f" target {TARGET_MS} ms {kept}"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else ROUNDS)
