"""Every hostile file there is, and what they came to: ``python -m tests.hostile``."""

from __future__ import annotations

import argparse
import itertools
import sys
import time
from collections import Counter
from collections.abc import Iterable

from artcheck.isolated import Fault
from tests.hostile import corpus, trial


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", default="", help="files whose names hold this")
    parser.add_argument("--seconds", type=float, default=1e9, help="stop after so long")
    parser.add_argument("--measure", action="store_true", help="measure too, not only read")
    asked = parser.parse_args()
    crafted = corpus.crafted().items()
    harmed = corpus.harmed(corpus.readable(), corpus.EVERYTHING)
    return run(itertools.chain(crafted, harmed), asked)


def run(files: Iterable[tuple[str, bytes]], asked: argparse.Namespace) -> int:
    process, counts, bad, slowest = trial.process(), Counter[str](), 0, (0.0, "")
    end = time.monotonic() + asked.seconds
    for name, data in files:
        if asked.only not in name or time.monotonic() > end:
            continue
        began = time.monotonic()
        outcome = process.call(trial.read if asked.measure else trial.look, data, name)
        slowest = max(slowest, (time.monotonic() - began, name))
        ended = "fault" if isinstance(outcome, Fault) else f"code {outcome.code}"
        counts[ended] += 1
        for fault in trial.faults_of(outcome):
            bad += 1
            print(f"{name}: {fault}", flush=True)
    process.close()
    print(
        f"{sum(counts.values())} files: {dict(counts)}; slowest {slowest[0]:.1f} s ({slowest[1]})"
    )
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())
