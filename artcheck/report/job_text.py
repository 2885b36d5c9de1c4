"""A job folder's manifest as text for a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from artcheck.domain.manifest import Manifest
from artcheck.report.job_words import change_lines, comparison_rows, loss_words, made_words
from artcheck.report.words import plain

MOST_CHANGES = 8
"""Changes shown; the manifest holds all."""


def render_job(manifest: Manifest, method: str, console: Console) -> None:
    """Print what was made, what it loses, and what it saves."""
    console.print(Text(made_words(manifest, method)))
    console.print()
    console.print(_inks(manifest))
    if manifest.loss is not None:
        console.print(f"\n{loss_words(manifest.loss)}")
    if manifest.comparison is not None:
        console.print()
        console.print(_comparison(manifest))
        still = [plain(line) for line in manifest.comparison.after.to_settle]
        _list(console, "Still to settle", still, most=None)
    changes = list(change_lines(manifest.changes, manifest.ppi))
    _list(console, "Changed", changes)
    _list(console, "Look out", [plain(line) for line in manifest.warnings], most=None)


def _inks(manifest: Manifest) -> Table:
    table = Table("order", "ink", "colour", "in2", "plate", box=None, pad_edge=False)
    table.columns[3].justify = "right"
    for ink in manifest.inks:
        name = plain(ink.name) if ink.stock else f"{plain(ink.name)} (mixed)"
        table.add_row(
            str(ink.order), Text(name), ink.hex, f"{ink.area_in2:.1f}", Text(plain(ink.plate))
        )
    return table


def _comparison(manifest: Manifest) -> Table:
    assert manifest.comparison is not None
    table = Table("", "the art", "this version", box=None, pad_edge=False)
    for row in comparison_rows(manifest.comparison):
        table.add_row(*row)
    return table


def _list(console: Console, title: str, lines: list[str], most: int | None = MOST_CHANGES) -> None:
    if not lines:
        return
    console.print(f"\n{title}:")
    for line in lines[:most]:
        console.print(Text(f"  - {line}"))
    if most is not None and len(lines) > most:
        console.print(f"  - and {len(lines) - most} more: see manifest.json")
