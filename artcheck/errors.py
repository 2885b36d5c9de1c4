"""Every way in which artcheck stops, each with its exit code.

Unsuitable art is never an error: it is a finding in the report. An error means that there is none.

    ArtcheckError
    ├── UsageError                  2   an option's value cannot be used
    ├── ArtFileError                3   the art file gives no picture
    │   ├── NotArtError                   empty, a device, or of no kind that artcheck reads
    │   ├── DamagedArtError               starts as one kind, then breaks off or contradicts itself
    │   ├── EncryptedArtError             needs a password
    │   ├── ReachingArtError              a drawing that asks for other files or for the network
    │   ├── TooLargeArtError              more pixels, bytes or objects than the budget allows
    │   └── NothingToPrintError           fully transparent, or nothing but paper
    ├── ShopFileError               4   the shop file has faults (all of them told)
    ├── OrderFileError              5   the order file has faults (all of them told)
    ├── ColourError                 6   a colour or a print condition cannot be used
    │   ├── ColourTextError               words that name no colour
    │   ├── ProfileError                  an ICC profile that describes no CMYK print
    │   └── ChartError                    a measured chart that is incomplete
    ├── PriceError                  7   the price list gives no figure for this order
    ├── OutputError                 8   the result cannot be written where it was asked for
    ├── MissingToolError            9   a library that this step needs is not installed
    └── ClusterError               10   the machines that were to do the work do not answer
    (a bug in artcheck itself ends with 70 and asks for a report; Ctrl-C ends with 130)

A message says what happened and what to do; the command line prints it on one line.
"""

from __future__ import annotations

from typing import ClassVar

INTERNAL_EXIT_CODE = 70
"""Exit code of a bug, after the BSD convention (sysexits.h EX_SOFTWARE)."""

INTERRUPTED_EXIT_CODE = 130
"""Exit code after Ctrl-C: 128 + SIGINT, as shells report it."""


class ArtcheckError(Exception):
    """Base of everything that artcheck raises on purpose."""

    exit_code: ClassVar[int] = 1


class UsageError(ArtcheckError):
    """An option's value cannot be used (a width of zero, an unknown garment)."""

    exit_code = 2


class ArtFileError(ArtcheckError):
    """The art file gives no picture to measure."""

    exit_code = 3


class NotArtError(ArtFileError):
    """Empty, not a regular file, or of no kind that artcheck reads."""


class DamagedArtError(ArtFileError):
    """The file starts as one kind and then breaks off or contradicts itself."""


class EncryptedArtError(ArtFileError):
    """The document needs a password."""


class ReachingArtError(ArtFileError):
    """A drawing asks for other files or for the network, or nests entities."""


class TooLargeArtError(ArtFileError):
    """More pixels, bytes or objects than the stated budget."""


class NothingToPrintError(ArtFileError):
    """Fully transparent, or nothing but paper."""


class _ListedFaultsError(ArtcheckError):
    """A file with faults: every one is told, each with its key path."""

    def __init__(self, file: str, faults: tuple[str, ...]) -> None:
        self.file = file
        self.faults = faults
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        super().__init__(f"{file}: {count}: " + "; ".join(faults))


class ShopFileError(_ListedFaultsError):
    """The shop file has faults."""

    exit_code = 4


class OrderFileError(_ListedFaultsError):
    """The order file has faults."""

    exit_code = 5


class ColourError(ArtcheckError):
    """A colour or a print condition cannot be used."""

    exit_code = 6


class ColourTextError(ColourError):
    """Words that name no colour."""


class ProfileError(ColourError):
    """An ICC profile that describes no CMYK print."""


class ChartError(ColourError):
    """A measured chart that is incomplete or contradicts itself."""


class PriceError(ArtcheckError):
    """The price list gives no figure for this order."""

    exit_code = 7


class OutputError(ArtcheckError):
    """The result cannot be written where it was asked for."""

    exit_code = 8


class MissingToolError(ArtcheckError):
    """A library that this step needs is not installed."""

    exit_code = 9


class ClusterError(ArtcheckError):
    """The cluster that was to do the work does not answer, or went away."""

    exit_code = 10
