"""Runs a command and turns every way of ending into an exit code and, at most, one line."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from copy import copy
from typing import TYPE_CHECKING

from typer.main import get_command_name

from artcheck.cli.app import app
from artcheck.errors import INTERNAL_EXIT_CODE, INTERRUPTED_EXIT_CODE, ArtcheckError

if TYPE_CHECKING:
    from typer import Typer
    from typer.models import CommandInfo

DEBUG_VARIABLE = "ARTCHECK_DEBUG"
"""Environment variable that lets tracebacks through, for reporting a bug."""


def run(arguments: Sequence[str]) -> int:
    """Run ``artcheck`` with these arguments; the exit code."""
    try:
        _app_for(arguments)(args=list(arguments), prog_name="artcheck")
    except SystemExit as end:  # Typer's own endings: --help, a wrong option, Exit
        return end.code if isinstance(end.code, int) else 0
    except ArtcheckError as stop:
        return _told(str(stop), stop.exit_code)
    except KeyboardInterrupt:
        return _told("stopped.", INTERRUPTED_EXIT_CODE)
    except BrokenPipeError:
        _silence_stdout()
        return 0
    except Exception as bug:
        if os.environ.get(DEBUG_VARIABLE):
            raise
        kind = type(bug).__name__
        message = (
            f"a fault in artcheck itself ({kind}: {bug}). Nothing was written. Please report it;"
            f" {DEBUG_VARIABLE}=1 shows where."
        )
        return _told(message, INTERNAL_EXIT_CODE)
    return 0


def _app_for(arguments: Sequence[str]) -> Typer:
    """The command line with the one command that is called, else with all.

    Every command's options would be built before the first is looked at, a thirtieth of a small
    file's check.
    """
    called = [c for c in app.registered_commands if [_name_of(c)] == list(arguments[:1])]
    if not called:
        return app
    one = copy(app)
    one.registered_commands, one.registered_groups = called, []
    return one


def _name_of(command: CommandInfo) -> str:
    """As typed."""
    return command.name or get_command_name(getattr(command.callback, "__name__", ""))


def _told(message: str, code: int) -> int:
    """One line on standard error, whatever the message holds."""
    line = " ".join(message.split())
    printable = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in line)
    print(f"artcheck: {printable}", file=sys.stderr)  # noqa: T201 -- the one handler that prints
    return code


def _silence_stdout() -> None:
    """The reader of the pipe has gone: keep the interpreter from complaining at exit."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
