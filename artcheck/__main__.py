"""``python -m artcheck`` and the ``artcheck`` command."""

import sys


def main() -> None:
    """Run the command line and leave with its exit code."""
    from artcheck.cli.run import run

    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
