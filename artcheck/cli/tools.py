"""The small commands: copies, explain, shop."""

from __future__ import annotations

import json
import re
import sys
from importlib import resources
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

from artcheck.cli.lengths import size_in, space_in
from artcheck.errors import UsageError


def run_copies(
    sheet: str,
    piece: str,
    gutter: str,
    margin: str,
    *,
    rotate: bool,
    json_to: str | None,
    overwrite: bool,
) -> None:
    """Print or write the layout.

    Raises
    ------
    UsageError
        A size cannot be read.
    """
    from artcheck.pricing.sheets import copies_on_sheet

    layout = copies_on_sheet(
        size_in(sheet, "sheet"),
        size_in(piece, "piece"),
        gutter=space_in(gutter, "gutter"),
        margin=space_in(margin, "margin"),
        rotate=rotate,
    )
    data = {
        "copies": layout.copies,
        "upper_bound": layout.upper_bound,
        "proven": layout.proven,
        "layout": [
            {"row_in": float(p.row_in), "col_in": float(p.col_in), "rotated": p.rotated}
            for p in layout.positions
        ],
    }
    if written(data, json_to, overwrite=overwrite):
        return
    sure = "proven" if layout.proven else f"at most {layout.upper_bound}"
    console = Console(highlight=False)
    console.print(f"{layout.copies} copies of {piece} on {sheet} ({sure}).")
    for place in layout.positions:
        turned = ", turned" if place.rotated else ""
        console.print(
            f"  {float(place.col_in):g} in across, {float(place.row_in):g} in down{turned}"
        )


def run_explain(finding: str) -> None:
    """Print the section of docs/findings.md on one finding.

    Raises
    ------
    UsageError
        No finding has this id.
    """
    import difflib

    sections = findings_sections()
    if finding not in sections:
        near = difflib.get_close_matches(finding, sections, n=1)
        hint = f" Did you mean {near[0]}?" if near else f" Known: {', '.join(sorted(sections))}."
        raise UsageError(f"No finding is called '{finding}'.{hint}")
    from rich.markdown import Markdown

    Console(highlight=False).print(Markdown(f"# {finding}\n\n{sections[finding]}"))


def findings_sections() -> dict[str, str]:
    """Each finding's id with its text, from the packaged docs/findings.md."""
    text = (resources.files("artcheck.judge") / "findings.md").read_text(encoding="utf-8")
    parts = re.split(r"^### ([a-z0-9-]+)$", text, flags=re.MULTILINE)
    return {parts[i]: parts[i + 1].strip() for i in range(1, len(parts), 2)}


def run_shop_init(file: Path, *, overwrite: bool) -> None:
    """Write the packaged shop as a file to start from.

    Raises
    ------
    OutputError
        The file exists or cannot be written.
    """
    from artcheck.report.files import check_writable_file, write_atomic
    from artcheck.shop import packaged_shop_text

    check_writable_file(file, overwrite=overwrite)
    write_atomic(file, packaged_shop_text().encode(), overwrite=overwrite)
    Console(highlight=False).print(
        f"Wrote {file}. Put your own prices in before you quote.", markup=False
    )


def run_shop_show(shop_file: Path | None, *, json_to: str | None, overwrite: bool) -> None:
    """Print or write the shop in force."""
    from artcheck.shop import load_shop

    shop = load_shop(shop_file)
    if written(shop.model_dump(mode="json"), json_to, overwrite=overwrite):
        return
    console = Console(highlight=False)
    console.print(f"{shop.name} ({shop.currency}){' — an invented demo shop' if shop.demo else ''}")
    methods = Table("method", "family", "priced", "press", title="Methods", title_justify="left")
    for method in shop.methods:
        press = (
            f"{method.press.temperature_f:g} F, {method.press.seconds:g} s" if method.press else ""
        )
        methods.add_row(method.name, method.family, method.price.kind.replace("_", " "), press)
    limits = Table("limit", "change", "stop", "unit", "from", title="Limits", title_justify="left")
    for name in type(shop.limits).model_fields:
        limit = getattr(shop.limits, name)
        stop = "" if limit.stop is None else f"{limit.stop:g}"
        limits.add_row(name, f"{limit.change:g}", stop, limit.unit, limit.source)
    console.print(methods)
    console.print(limits)


def written(data: dict[str, Any], json_to: str | None, *, overwrite: bool) -> bool:
    """Write ``data`` as JSON where that was asked for."""
    if json_to is None:
        return False
    text = json.dumps(data, indent=2, ensure_ascii=False) + "\n"
    if json_to == "-":
        sys.stdout.write(text)
    else:
        from artcheck.report.files import check_writable_file, write_atomic

        check_writable_file(Path(json_to), overwrite=overwrite)
        write_atomic(Path(json_to), text.encode(), overwrite=overwrite)
    return True
