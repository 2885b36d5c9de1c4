"""The separate command: plates or film, proof and manifest in a job folder."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console

from artcheck.cli.check import Asked, brand_colour, order_of, with_profile
from artcheck.cli.output import Outputs, progress_on_stderr
from artcheck.domain.order import Order
from artcheck.domain.separating import SeparationOptions
from artcheck.errors import UsageError
from artcheck.units import POINTS_PER_INCH


def run_separate(
    asked: Asked,
    *,
    inks: int | None,
    method: str | None,
    locked: tuple[str, ...],
    trap: str | None,
    flat_fades: bool | None,
    soft_edges: bool,
    knock_out_garment: bool,
    print_number: int,
    shop_file: Path | None,
    profile: Path | None,
    json_to: str | None,
    out: Path,
    overwrite: bool,
) -> None:
    """Separate one print and write its job folder, whole or not at all.

    Raises
    ------
    ArtcheckError
        The folder is looked at before the long work begins.
    """
    from artcheck import pipeline
    from artcheck.report.data import to_json
    from artcheck.report.files import writable_folder
    from artcheck.report.job_files import write_job
    from artcheck.report.job_text import render_job
    from artcheck.shop import load_shop

    writable_folder(out, overwrite=overwrite)
    outputs = Outputs.opened(json_to, None, overwrite=overwrite)
    shop = with_profile(load_shop(shop_file), profile)
    order = order_of(asked)
    index = _print_index(order, print_number)
    options = SeparationOptions(
        inks=inks,
        method=method,
        locked=tuple(brand_colour(text, critical=True) for text in locked),
        trap_pt=_trap_pt(trap),
        fades=None if flat_fades is None else "flat" if flat_fades else "halftone",
        film_edges="soft" if soft_edges else "hard",
        knock_out_garment=knock_out_garment,
    )
    with progress_on_stderr() as progress:
        job = pipeline.separate(order, shop, options, index=index, progress=progress)
        progress("writing")
        manifest = write_job(job, out, overwrite=overwrite)

    def show_on(console: Console) -> None:
        render_job(manifest, job.method.name, console)
        console.print(f"\nFiles: {out}", markup=False)

    outputs.tell(lambda: to_json(manifest), show_on)


def _print_index(order: Order, number: int) -> int:
    if not 1 <= number <= len(order.prints):
        raise UsageError(f"There is no print {number}: the order has {len(order.prints)}.")
    return number - 1


MOST_TRAP_PT = 20.0
"""A wider trap is a slip of the pen: others in the trade use 0 to 1 pt."""


def _trap_pt(text: str | None) -> float | None:
    from artcheck.cli.lengths import space_in

    if text is None:
        return None
    bare = text.strip()
    trap = space_in(f"{bare}pt" if bare.replace(".", "", 1).isdigit() else bare, "trap")
    trap_pt = trap * POINTS_PER_INCH
    if trap_pt > MOST_TRAP_PT:
        raise UsageError(f"A trap of {trap_pt:g} pt is too wide: {MOST_TRAP_PT:g} pt at most.")
    return trap_pt
