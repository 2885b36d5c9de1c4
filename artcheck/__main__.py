"""``python -m artcheck`` and the ``artcheck`` command."""


def main() -> None:
    """Run the command line."""
    from artcheck.cli import app

    app()


if __name__ == "__main__":
    main()
