"""``python -m artcheck`` and the ``artcheck`` command."""

import gc
import os
import sys

OBJECTS_BEFORE_COLLECTING = 50_000
"""New objects after which cycles are looked for: imports and records make a million and leave none,
and Python's own 700 cost a check a tenth of its time."""


def main() -> None:
    """Run the command line and leave with its exit code."""
    _fill_closed_streams()
    gc.set_threshold(OBJECTS_BEFORE_COLLECTING, 20, 20)
    # Looking for plugins of pydantic's reads the list of every installed package.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")
    # Threads for matrices larger than any here wait for work by turning in a circle.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from artcheck.cli.run import run

    sys.exit(run(sys.argv[1:]))


def _fill_closed_streams() -> None:
    """Where a service closed standard streams, files would take their numbers, and native words."""
    for descriptor in (0, 1, 2):
        try:
            os.fstat(descriptor)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest free number: this one


if __name__ == "__main__":
    main()
