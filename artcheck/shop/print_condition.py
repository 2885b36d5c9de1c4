"""The print condition that the shop file names: a packaged one, or the shop's own file."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from artcheck.colour.print_model import PrintModel, packaged_model, read_print_model
from artcheck.domain.shop import PrintConditionChoice
from artcheck.errors import ProfileError

MOST_BYTES = 64 * 1024 * 1024
"""Output profiles reach a few megabytes; beyond this a file is none."""


def load_print_model(choice: PrintConditionChoice) -> PrintModel:
    """The shop's own profile or chart where it names one, else the packaged condition.

    Raises
    ------
    ColourError
        The file cannot be opened or describes no CMYK print.
    """
    own = choice.profile or choice.chart
    return packaged_model(choice.packaged) if own is None else _own_model(Path(own))


@lru_cache(maxsize=4)
def _own_model(path: Path) -> PrintModel:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise ProfileError(f"{path.name} is larger than {MOST_BYTES} bytes: name a profile.")
        data = path.read_bytes()
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise ProfileError(f"{path.name} cannot be opened ({reason}). Check its path.") from None
    return read_print_model(data, path.name)
