"""The check command: an order out of options and files, then the report where it was asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from artcheck.cli.lengths import length_in
from artcheck.domain.artwork import BackgroundChoice
from artcheck.domain.check import OrderReport, Report
from artcheck.domain.order import BrandColour, Garment, Order, Print
from artcheck.domain.shop import Shop
from artcheck.errors import UsageError


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The order's part of the command line, as typed."""

    art: Path | None = None
    width: str | None = None
    height: str | None = None
    quantity: int | None = None
    garment: str | None = None
    garment_colour: str | None = None
    fabric: str | None = None
    placement: str | None = None
    brands: tuple[str, ...] = ()
    critical_brands: tuple[str, ...] = ()
    inks: tuple[str, ...] = ()
    background: BackgroundChoice | None = None
    page: int | None = None
    children: bool | None = None
    care_dots: int | None = None
    order: Path | None = None


def run_check(
    asked: Asked,
    *,
    shop_file: Path | None,
    profile: Path | None,
    json_to: str | None,
    out: Path | None,
    overwrite: bool,
    fail_on: str | None,
    explain: bool = False,
) -> int:
    """Check and report; 1 when ``fail_on`` says so, else 0.

    Raises
    ------
    ArtcheckError
        Every input and output is looked at before the long work begins.
    """
    from artcheck.cli.output import Outputs, progress_on_stderr
    from artcheck.shop import load_shop

    outputs = Outputs.opened(json_to, out, overwrite=overwrite)
    shop = with_profile(load_shop(shop_file), profile)
    order = order_of(asked)
    with progress_on_stderr() as progress:
        report = _checked(order, shop, progress)
    outputs.write(report, order, steps=_steps(report, order, shop) if explain else ())
    return _exit_code(report, fail_on)


def _checked(order: Order, shop: Shop, progress: Callable[[str], None]) -> Report | OrderReport:
    from artcheck import pipeline

    whole = pipeline.check_order(order, shop, progress=progress)
    return whole.prints[0] if len(whole.prints) == 1 else whole


def _steps(report: Report | OrderReport, order: Order, shop: Shop) -> Iterable[str]:
    from artcheck.report.price_steps import explained

    return explained(report, shop.prices, rush=order.rush)


def with_profile(shop: Shop, profile: Path | None) -> Shop:
    """The shop with another print condition, where the command line names one."""
    if profile is None:
        return shop
    condition = shop.print_condition.model_copy(update={"profile": str(profile), "chart": None})
    return shop.model_copy(update={"print_condition": condition})


def order_of(asked: Asked) -> Order:
    """The order file under the command line's options, or an order of one print.

    Raises
    ------
    UsageError
        An option's value cannot be used, or there is no art.
    OrderFileError
        The order file has faults.
    """
    from artcheck.shop import load_order

    if asked.order is not None:
        base = load_order(asked.order)
    elif asked.art is not None:
        base = Order(prints=(Print(art=str(asked.art)),))
    else:
        raise UsageError("No art is named. Give an art file, or an order file with --order.")
    try:
        return _overlaid(base, asked)
    except ValidationError as faults:
        raise UsageError(_option_fault(faults)) from None


def _overlaid(base: Order, asked: Asked) -> Order:
    if base.garments:
        _refuse_garment_options(asked)
        return base.model_copy(update={"prints": (_first_print(base, asked), *base.prints[1:])})
    garment = _set(
        base.garment.model_dump(),
        kind=asked.garment,
        colour=asked.garment_colour,
        fabric=asked.fabric,
        for_children=asked.children,
        care_dots=asked.care_dots,
    )
    if asked.quantity is not None:
        garment |= {"quantity": asked.quantity, "sizes": ()}
    return base.model_copy(
        update={
            "garment": Garment.model_validate(garment),
            "prints": (_first_print(base, asked), *base.prints[1:]),
        }
    )


def _refuse_garment_options(asked: Asked) -> None:
    """An option cannot say which of several garments it means."""
    options = {
        "--garment": asked.garment,
        "--garment-colour": asked.garment_colour,
        "--fabric": asked.fabric,
        "--children": asked.children,
        "--care-dots": asked.care_dots,
        "--quantity": asked.quantity,
    }
    given = [name for name, value in options.items() if value is not None]
    if given:
        raise UsageError(
            f"The order has several garments, and {given[0]} does not say which it means."
            " Change the order file."
        )


def _first_print(base: Order, asked: Asked) -> Print:
    print_ = _set(
        base.prints[0].model_dump(),
        art=str(asked.art) if asked.art else None,
        placement=asked.placement,
        background=asked.background,
        page=asked.page,
    )
    print_ |= _size(asked)
    print_ |= _brands(asked)
    if asked.inks:
        print_["inks"] = asked.inks
    return Print.model_validate(print_)


def _set(under: dict[str, Any], **over: Any) -> dict[str, Any]:
    return under | {key: value for key, value in over.items() if value is not None}


def _size(asked: Asked) -> dict[str, Any]:
    if asked.width is not None and asked.height is not None:
        raise UsageError("Both --width and --height are given. Give one: the art keeps its shape.")
    if asked.width is not None:
        return {"width_in": length_in(asked.width, "width"), "height_in": None}
    if asked.height is not None:
        return {"height_in": length_in(asked.height, "height"), "width_in": None}
    return {}


def _brands(asked: Asked) -> dict[str, Any]:
    named = [
        *(brand_colour(text, critical=False) for text in asked.brands),
        *(brand_colour(text, critical=True) for text in asked.critical_brands),
    ]
    return {"brand_colours": tuple(named)} if named else {}


def brand_colour(text: str, *, critical: bool) -> BrandColour:
    """``NAME=COLOUR`` as typed.

    Raises
    ------
    UsageError
        It is not written so.
    """
    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not value.strip():
        raise UsageError(
            f"The brand colour '{text}' is not NAME=COLOUR. Write it like \"teal=#008D8F\"."
        )
    return BrandColour(name=name.strip(), colour=value.strip(), critical=critical)


_OPTION_OF = {
    "quantity": "--quantity",
    "width_in": "--width",
    "height_in": "--height",
    "page": "--page",
    "care_dots": "--care-dots",
}


def _option_fault(faults: ValidationError) -> str:
    first = faults.errors()[0]
    key = str(first["loc"][-1]) if first["loc"] else ""
    message = first["msg"].removeprefix("Value error, ").removeprefix("Input ")
    return f"{_OPTION_OF.get(key, key or 'The order')} {message}, not {first['input']}."


def _exit_code(report: Report | OrderReport, fail_on: str | None) -> int:
    if fail_on is None:
        return 0
    severities = {"stop"} if fail_on == "stop" else {"stop", "change"}
    prints = report.prints if isinstance(report, OrderReport) else (report,)
    return int(
        any(
            finding.severity in severities
            for one in prints
            for method in one.methods
            if one.recommendation.method in (None, method.id)
            for finding in method.findings
        )
    )
