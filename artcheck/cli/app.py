"""The commands and their options."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    name="artcheck",
    help="Reads customer art, measures it, and says how to print it on garments and what it costs.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
shop_app = typer.Typer(help="The shop file: prices, inks, methods, limits.", no_args_is_help=True)
app.add_typer(shop_app, name="shop")


class Background(StrEnum):
    """What to do with paper behind the art."""

    AUTO = "auto"
    REMOVE = "remove"
    KEEP = "keep"


class FailOn(StrEnum):
    """Which findings end with exit code 1."""

    STOP = "stop"
    CHANGE = "change"


ShopOption = Annotated[
    Path | None, typer.Option("--shop", help="Shop file (TOML). Without it: an invented demo shop.")
]
JsonOption = Annotated[
    str | None, typer.Option("--json", metavar="FILE", help="Write JSON here; - is the screen.")
]
ProfileOption = Annotated[
    Path | None,
    typer.Option(help="The film printer's ICC profile (CMYK) or measured chart, for colours."),
]
WidthOption = Annotated[str | None, typer.Option(help="Width of the print: 11in, 280mm.")]
HeightOption = Annotated[str | None, typer.Option(help="Height of the print, instead.")]
QuantityOption = Annotated[int | None, typer.Option(help="Finished pieces, without spares.")]
GarmentOption = Annotated[str | None, typer.Option(help="Kind of garment: tee, hoodie.")]
GarmentColourOption = Annotated[
    str | None,
    typer.Option("--garment-colour", "--garment-color", help="A name of the shop, or #rrggbb."),
]
FabricOption = Annotated[str | None, typer.Option(help="cotton, polyester, ...")]
PlacementOption = Annotated[str | None, typer.Option(help="left chest, front, back, ...")]
BrandOption = Annotated[
    list[str] | None, typer.Option(metavar="NAME=COLOUR", help="A colour to keep.")
]
CriticalBrandOption = Annotated[
    list[str] | None, typer.Option(metavar="NAME=COLOUR", help="One that decides.")
]
BackgroundOption = Annotated[Background | None, typer.Option(help="Paper behind the art.")]
PageOption = Annotated[int | None, typer.Option(help="Page of a document, from 1.")]
OrderOption = Annotated[Path | None, typer.Option(help="Order file (TOML).")]
ArtArgument = Annotated[Path | None, typer.Argument(help="Art file; may stand in the order.")]
OverwriteOption = Annotated[bool, typer.Option("--overwrite", help="Replace what is there.")]


@app.callback(invoke_without_command=True)
def _main(
    version: Annotated[bool, typer.Option("--version", help="Show the version.")] = False,
) -> None:
    if version:
        from artcheck.version import __version__

        typer.echo(f"artcheck {__version__}")
        raise typer.Exit


@app.command()
def check(
    art: ArtArgument = None,
    width: WidthOption = None,
    height: HeightOption = None,
    quantity: QuantityOption = None,
    garment: GarmentOption = None,
    garment_colour: GarmentColourOption = None,
    fabric: FabricOption = None,
    placement: PlacementOption = None,
    brand: BrandOption = None,
    critical_brand: CriticalBrandOption = None,
    ink: Annotated[
        list[str] | None, typer.Option(help="Print in this stock ink, whatever the art holds.")
    ] = None,
    background: BackgroundOption = None,
    page: PageOption = None,
    children: Annotated[
        bool | None, typer.Option("--children/--adults", help="Who wears it.")
    ] = None,
    care_dots: Annotated[
        int | None, typer.Option(help="Dots in the care label's iron; 0: do not iron.")
    ] = None,
    shop: ShopOption = None,
    order: OrderOption = None,
    profile: ProfileOption = None,
    json: JsonOption = None,
    out: Annotated[Path | None, typer.Option(help="Folder for the report.")] = None,
    overwrite: OverwriteOption = False,
    fail_on: Annotated[
        FailOn | None, typer.Option(help="Exit 1 when the recommended method has such a finding.")
    ] = None,
    explain: Annotated[
        bool, typer.Option("--explain", help="Show each step of the price on the screen.")
    ] = False,
) -> None:
    """Measure art, judge it, price it, and recommend a print method."""
    from artcheck.cli.check import Asked, run_check

    asked = Asked(
        art=art,
        width=width,
        height=height,
        quantity=quantity,
        garment=garment,
        garment_colour=garment_colour,
        fabric=fabric,
        placement=placement,
        brands=tuple(brand or ()),
        critical_brands=tuple(critical_brand or ()),
        inks=tuple(ink or ()),
        background=background.value if background else None,
        page=page,
        children=children,
        care_dots=care_dots,
        order=order,
    )
    code = run_check(
        asked,
        shop_file=shop,
        profile=profile,
        json_to=json,
        out=out,
        overwrite=overwrite,
        fail_on=fail_on.value if fail_on else None,
        explain=explain,
    )
    raise typer.Exit(code)


@app.command()
def separate(
    art: ArtArgument = None,
    out: Annotated[Path, typer.Option(help="Folder for the job's files.")] = Path("job"),
    inks: Annotated[
        int | None, typer.Option(help="Number of inks; without it, as many as are worth it.")
    ] = None,
    lock_ink: Annotated[
        list[str] | None, typer.Option(metavar="NAME=COLOUR", help="An ink that must be in.")
    ] = None,
    method: Annotated[str | None, typer.Option(help="Id of a method of the shop.")] = None,
    trap: Annotated[
        str | None, typer.Option(help="How far inks overlap: 0.5pt; 0 lets them butt.")
    ] = None,
    flat_fades: Annotated[
        bool | None,
        typer.Option("--flat-fades/--halftone-fades", help="Fades as flat inks, or as dots."),
    ] = None,
    soft_edges: Annotated[
        bool, typer.Option("--soft-edges/--hard-edges", help="Film: keep partly opaque rims.")
    ] = False,
    knock_out_garment: Annotated[
        bool, typer.Option("--knock-out-garment", help="Film: leave its colour open.")
    ] = False,
    width: WidthOption = None,
    height: HeightOption = None,
    quantity: QuantityOption = None,
    garment: GarmentOption = None,
    garment_colour: GarmentColourOption = None,
    fabric: FabricOption = None,
    placement: PlacementOption = None,
    brand: BrandOption = None,
    critical_brand: CriticalBrandOption = None,
    background: BackgroundOption = None,
    page: PageOption = None,
    shop: ShopOption = None,
    order: OrderOption = None,
    print_number: Annotated[int, typer.Option("--print", help="Print of the order, from 1.")] = 1,
    profile: ProfileOption = None,
    json: JsonOption = None,
    overwrite: OverwriteOption = False,
) -> None:
    """Make the art ready to print: few inks and their plates, or a film; proof and manifest."""
    from artcheck.cli.check import Asked
    from artcheck.cli.separate import run_separate

    asked = Asked(
        art=art,
        width=width,
        height=height,
        quantity=quantity,
        garment=garment,
        garment_colour=garment_colour,
        fabric=fabric,
        placement=placement,
        brands=tuple(brand or ()),
        critical_brands=tuple(critical_brand or ()),
        background=background.value if background else None,
        page=page,
        order=order,
    )
    run_separate(
        asked,
        inks=inks,
        method=method,
        locked=tuple(lock_ink or ()),
        trap=trap,
        flat_fades=flat_fades,
        soft_edges=soft_edges,
        knock_out_garment=knock_out_garment,
        print_number=print_number,
        shop_file=shop,
        profile=profile,
        json_to=json,
        out=out,
        overwrite=overwrite,
    )


@app.command()
def batch(
    art: Annotated[list[Path], typer.Argument(help="Folders of art, or art files.")],
    out: Annotated[Path, typer.Option(help="Folder for results; run again to go on.")],
    width: Annotated[str | None, typer.Option(help="Width of each print: 11in, 280mm.")] = None,
    height: Annotated[str | None, typer.Option(help="Height of each print, instead.")] = None,
    quantity: Annotated[int | None, typer.Option(help="Finished pieces of each.")] = None,
    garment: Annotated[str | None, typer.Option(help="Kind of garment: tee, hoodie.")] = None,
    garment_colour: Annotated[
        str | None,
        typer.Option("--garment-colour", "--garment-color", help="A name of the shop, or #rrggbb."),
    ] = None,
    fabric: Annotated[str | None, typer.Option(help="cotton, polyester, ...")] = None,
    placement: Annotated[str | None, typer.Option(help="left chest, front, back, ...")] = None,
    background: Annotated[Background | None, typer.Option(help="Paper behind the art.")] = None,
    shop: ShopOption = None,
    order: Annotated[Path | None, typer.Option(help="Order file of one print (TOML).")] = None,
    profile: ProfileOption = None,
    workers: Annotated[
        int | None, typer.Option(min=1, max=256, help="Files at once; as many as there are cores.")
    ] = None,
    seconds: Annotated[float, typer.Option(min=1, help="Time a file may take.")] = 300,
    memory: Annotated[float, typer.Option(min=0.25, help="Memory a file may take, in GiB.")] = 4,
    cluster: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Dask scheduler: tcp://host:8786.")
    ] = None,
    overwrite: Annotated[bool, typer.Option("--overwrite", help="Begin anew.")] = False,
) -> None:
    """Check many files alike, several at once; a run that was stopped goes on."""
    from artcheck.cli.batch import run_many
    from artcheck.cli.check import Asked

    asked = Asked(
        art=art[0],
        width=width,
        height=height,
        quantity=quantity,
        garment=garment,
        garment_colour=garment_colour,
        fabric=fabric,
        placement=placement,
        background=background.value if background else None,
        order=order,
    )
    run_many(
        art,
        asked,
        shop_file=shop,
        profile=profile,
        out=out,
        workers=workers,
        seconds=seconds,
        memory_gib=memory,
        cluster=cluster,
        overwrite=overwrite,
    )


@app.command()
def copies(
    sheet: Annotated[str, typer.Option(help="Sheet: 12x15 (in), 300x400mm.")],
    piece: Annotated[str, typer.Option(help="Piece: 5x3.")],
    gutter: Annotated[str, typer.Option(help="Space between pieces.")] = "0",
    margin: Annotated[str, typer.Option(help="Space at the sheet's edge.")] = "0",
    rotate: Annotated[bool, typer.Option("--rotate/--no-rotate", help="May turn.")] = True,
    json: JsonOption = None,
    overwrite: OverwriteOption = False,
) -> None:
    """How many copies of one piece fit on a sheet, and where they lie."""
    from artcheck.cli.tools import run_copies

    run_copies(sheet, piece, gutter, margin, rotate=rotate, json_to=json, overwrite=overwrite)


@app.command()
def gang(
    order: Annotated[Path, typer.Argument(help="Order file (TOML).")],
    shop: ShopOption = None,
    json: JsonOption = None,
    out: Annotated[
        Path | None, typer.Option(help="Folder for the layouts: pictures and print-ready PDF.")
    ] = None,
    overwrite: OverwriteOption = False,
) -> None:
    """Lay an order's prints out together on sheets and roll, and say what that saves."""
    from artcheck.cli.gang import run_gang

    run_gang(order, shop_file=shop, json_to=json, out=out, overwrite=overwrite)


@app.command()
def grid(
    width: Annotated[str, typer.Option(help="Width of the print: 9in, 230mm.")],
    height: Annotated[str | None, typer.Option(help="Its height; without: as wide.")] = None,
    garment: Annotated[
        str | None, typer.Option(help="Kind of garment, to price it: tee, hoodie.")
    ] = None,
    garment_colour: Annotated[
        str | None,
        typer.Option("--garment-colour", "--garment-color", help="A name of the shop, or #rrggbb."),
    ] = None,
    fabric: Annotated[str | None, typer.Option(help="cotton, polyester, ...")] = None,
    shop: ShopOption = None,
    json: JsonOption = None,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="A page for the wall: .pdf, .svg or .png.")
    ] = None,
    paper: Annotated[str, typer.Option(help="a4 or letter, landscape.")] = "a4",
    overwrite: OverwriteOption = False,
) -> None:
    """The cheapest suitable method by quantity and number of inks, for one print size."""
    from artcheck.cli.grid import GridAsked, run_grid

    asked = GridAsked(
        width=width,
        height=height,
        garment=garment,
        garment_colour=garment_colour,
        fabric=fabric,
        paper=paper,
    )
    run_grid(asked, shop_file=shop, json_to=json, out=out, overwrite=overwrite)


@app.command()
def quote(
    order: Annotated[Path, typer.Argument(help="Order file (TOML).")],
    out: Annotated[
        Path | None, typer.Option(help="Folder for the papers (PDF and HTML) and the report.")
    ] = None,
    date: Annotated[
        str | None, typer.Option(help="Date of the papers, 2026-11-26; no clock is read.")
    ] = None,
    number: Annotated[str | None, typer.Option(help="The quote's number.")] = None,
    shop: ShopOption = None,
    profile: ProfileOption = None,
    json: JsonOption = None,
    overwrite: OverwriteOption = False,
) -> None:
    """Quote an order, and write the papers that leave the shop."""
    from artcheck.cli.quote import run_quote

    run_quote(
        order,
        date=date,
        number=number,
        shop_file=shop,
        profile=profile,
        json_to=json,
        out=out,
        overwrite=overwrite,
    )


@app.command()
def colour(
    lab: Annotated[str | None, typer.Option(help="L,a,b under D50.")] = None,
    hex_: Annotated[
        str | None, typer.Option("--hex", help="#rrggbb, as a screen shows it.")
    ] = None,
    text: Annotated[
        list[str] | None,
        typer.Option(
            "--colour", "--color", help="lch(...), xyz(...) D65, an ink, NAME=COLOUR; repeat."
        ),
    ] = None,
    file: Annotated[
        Path | None, typer.Option(help='Brand file (TOML): [colours] teal = "#008D8F".')
    ] = None,
    profile: ProfileOption = None,
    shop: ShopOption = None,
    json: JsonOption = None,
    overwrite: OverwriteOption = False,
) -> None:
    """How near print comes to colours: full-colour print and the shop's inks."""
    from artcheck.cli.colour import run_colour

    run_colour(
        lab,
        hex_,
        text or [],
        file,
        shop_file=shop,
        profile=profile,
        json_to=json,
        overwrite=overwrite,
    )


app.command("color", hidden=True)(colour)


@app.command()
def demo(
    out: Annotated[
        Path | None, typer.Option(help="Folder to write the eight reports into.")
    ] = None,
    overwrite: OverwriteOption = False,
) -> None:
    """Play eight orders of an invented shop, each a trap of the trade."""
    from artcheck.cli.demo import run_demo

    run_demo(out, overwrite=overwrite)


@app.command()
def serve(
    host: Annotated[str, typer.Option(help="Address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="0 takes a free one.")] = 8750,
    shop: ShopOption = None,
    profile: ProfileOption = None,
    workspace: Annotated[Path, typer.Option(help="Folder for job folders.")] = Path(
        "artcheck-jobs"
    ),
    allow_network: Annotated[
        bool, typer.Option("--allow-network", help="Let other computers in; there is no password.")
    ] = False,
) -> None:
    """Open the page at the desk: drop art in, change the order, see the answer."""
    from artcheck.cli.serve import run_serve

    run_serve(
        host,
        port,
        shop_file=shop,
        profile=profile,
        workspace=workspace,
        allow_network=allow_network,
    )


@app.command()
def explain(finding: Annotated[str, typer.Argument(help="A finding's id.")]) -> None:
    """Say what a finding means and what to do about it."""
    from artcheck.cli.tools import run_explain

    run_explain(finding)


@shop_app.command("init")
def shop_init(
    file: Annotated[Path, typer.Argument(help="File to write.")] = Path("shop.toml"),
    overwrite: OverwriteOption = False,
) -> None:
    """Write a shop file to fill in: the demo shop and every limit, with reasons."""
    from artcheck.cli.tools import run_shop_init

    run_shop_init(file, overwrite=overwrite)


@shop_app.command("show")
def shop_show(
    shop: ShopOption = None, json: JsonOption = None, overwrite: OverwriteOption = False
) -> None:
    """Show what is in force: methods, prices, limits and where they come from."""
    from artcheck.cli.tools import run_shop_show

    run_shop_show(shop, json_to=json, overwrite=overwrite)
