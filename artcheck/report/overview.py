"""Many files at once: a line of JSON each, a table for spreadsheets, pages to look through."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from artcheck.report.files import atomic_file
from artcheck.report.page import environment

LINES_NAME = "results.jsonl"
TABLE_NAME = "summary.csv"
PAGE_NAME = "overview.html"

ROWS_A_PAGE = 200
"""Files on one page: with their pictures two or three megabytes, which any browser scrolls."""

COLUMNS = (
    "file", "fault", "kind", "width_px", "height_px", "tone", "inks", "effective_dpi", "true_dpi",
    "largest_width_in", "thinnest_line_pt", "narrowest_gap_pt", "stops", "changes", "method",
    "cost", "price", "price_per_piece", "currency", "answer",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """One file: its report's keys and thumbnail (a ``data:`` address), or its fault's."""

    name: str
    report: dict[str, Any] | None
    thumbnail: str | None
    fault: dict[str, Any] | None


def write_overview(folder: Path, names: Sequence[str], row_of: Callable[[str], Row]) -> None:
    """Write the three kinds of file, in the order of ``names``; one row is held at a time.

    Raises
    ------
    OutputError
        The folder cannot be written. What was there before stays.
    """
    with (
        atomic_file(folder / LINES_NAME) as lines,
        atomic_file(folder / TABLE_NAME) as table,
    ):
        _write_table_row(table, dict(zip(COLUMNS, COLUMNS, strict=True)))
        faults = 0
        for name in names:
            row = row_of(name)
            faults += row.fault is not None
            lines.write(_line(row))
            _write_table_row(table, _cells(row))
    _write_pages(folder, names, row_of, faults)


def _line(row: Row) -> bytes:
    entry = {"file": row.name, "fault": row.fault, "report": row.report}
    return json.dumps(entry, separators=(",", ":"), allow_nan=False).encode("ascii") + b"\n"


# --- the table ----------------------------------------------------------------------------------


def _cells(row: Row) -> dict[str, Any]:
    if row.report is None:
        return {"file": row.name, "fault": row.fault["text"] if row.fault else ""}
    report = row.report
    method, cost = _chosen(report)
    resolution = report["resolution"] or {}
    return {
        "file": row.name,
        "kind": report["artwork"]["kind"],
        "width_px": report["artwork"]["pixels"][0],
        "height_px": report["artwork"]["pixels"][1],
        "tone": report["tone"]["class"],
        "inks": report["inks"]["count"],
        **{key: resolution.get(key) for key in ("effective_dpi", "true_dpi", "largest_width_in")},
        **{key: report["detail"][key] for key in ("thinnest_line_pt", "narrowest_gap_pt")},
        "stops": _count(report, "stop"),
        "changes": _count(report, "change"),
        "method": method,
        "cost": cost.get("total"),
        "price": cost.get("price_total"),
        "price_per_piece": cost.get("price_per_piece"),
        "currency": cost.get("currency"),
        "answer": report["recommendation"]["headline"],
    }


def _chosen(report: dict[str, Any]) -> tuple[str | None, dict[str, Any]]:
    """The recommended method's name and cost; the cost is empty where there is none."""
    wanted = report["recommendation"]["method"]
    for method in report["methods"]:
        if method["id"] == wanted:
            return method["name"], method["cost"] or {}
    return None, {}


def _count(report: dict[str, Any], severity: str) -> int:
    """Different findings of the recommended method, or of all when none is recommended."""
    wanted = report["recommendation"]["method"]
    return len(
        {
            finding["id"]
            for method in report["methods"]
            if wanted in (None, method["id"])
            for finding in method["findings"]
            if finding["severity"] == severity
        }
    )


_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def _write_table_row(file: IO[bytes], cells: dict[str, Any]) -> None:
    text = io.StringIO()
    csv.writer(text).writerow([_cell(cells.get(column)) for column in COLUMNS])
    file.write(text.getvalue().encode("utf-8", "backslashreplace"))


def _cell(value: Any) -> Any:
    """A file called ``=HYPERLINK(...)`` must not become a formula in a spreadsheet."""
    if isinstance(value, str) and value.startswith(_FORMULA_STARTS):
        return f"'{value}"
    return value


# --- the pages ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Seen:
    """One file as the page shows it."""

    name: str
    thumbnail: str | None
    garment_hex: str | None
    cells: dict[str, Any]


def page_name(number: int) -> str:
    """The name of the overview's page ``number``, from 1."""
    return PAGE_NAME if number == 1 else f"overview-{number}.html"


def _write_pages(
    folder: Path, names: Sequence[str], row_of: Callable[[str], Row], faults: int
) -> None:
    """Write the pages anew and take away those that a longer run left."""
    template = environment().get_template(PAGE_NAME)
    starts = range(0, max(len(names), 1), ROWS_A_PAGE)
    pages = [page_name(number) for number in range(1, len(starts) + 1)]
    for number, start in enumerate(starts, 1):
        seen = [_seen(row_of(name)) for name in names[start : start + ROWS_A_PAGE]]
        text = template.render(
            rows=seen,
            total=len(names),
            faults=faults,
            first=start + 1,
            number=number,
            pages=pages,
        )
        with atomic_file(folder / page_name(number)) as file:
            file.write(text.encode("utf-8", "backslashreplace"))
    for old in folder.glob("overview-*.html"):
        if old.name not in pages:
            old.unlink()


def _seen(row: Row) -> _Seen:
    garment = row.report["garment"]["hex"] if row.report else None
    return _Seen(row.name, row.thumbnail, garment, _cells(row))
