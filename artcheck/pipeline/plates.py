"""Which plates an art gets and which prints are one design, the same wherever sheets are shared."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from artcheck.domain.check import InkReport
from artcheck.domain.order import Print


def design_key(print_: Print) -> str:
    """Equal for prints of the same art, whatever their size."""
    return f"{print_.art} {print_.page} {print_.background}"


def plates_of(inks: Sequence[InkReport]) -> tuple[frozenset[str], frozenset[str]]:
    """Names of the plates, and of those among them that are mixed; each ink has one plate."""
    printed = printed_inks(inks)
    named = {name: ink.plan == "mixed" for name, ink in printed}
    return frozenset(named), frozenset(name for name, mixed in named.items() if mixed)


def printed_inks(inks: Sequence[InkReport]) -> list[tuple[str, InkReport]]:
    """The inks that get a plate, by a name of their own; one at least, as pricing counts them.

    A mixed ink is another than the stock ink of its name; two inks of the art that share a stock
    ink are priced as two.
    """
    printed = [ink for ink in inks if not ink.is_garment] or list(inks[:1])
    seen: Counter[str] = Counter()
    named = []
    for ink in printed:
        base = f"{ink.name} mixed" if ink.plan == "mixed" else ink.name
        seen[base] += 1
        named.append((base if seen[base] == 1 else f"{base} {seen[base]}", ink))
    return named
