"""Measured inks against the shelf and the garment; brand colours against print, shelf and art."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from artcheck.colour.difference import delta_e_2000_single
from artcheck.colour.reach import Reach
from artcheck.colour.spaces import contrast_ratio, lab_to_hex, parse_colour
from artcheck.domain.base import Lab
from artcheck.domain.check import (
    BrandColourReport,
    ColourWords,
    ContrastReport,
    ContrastWords,
    InkReport,
    StockMatch,
)
from artcheck.domain.measurements import Sized
from artcheck.domain.order import BrandColour
from artcheck.domain.shop import GarmentColour, Limits, Shop, StockInk


@dataclass(frozen=True, slots=True)
class GarmentLook:
    """The garment's colour: the words that name it and its Lab."""

    name: str
    lab: Lab


def named_colours(shop: Shop) -> dict[str, Lab]:
    """Every colour that the shop names: garments first, so that an ink of one name wins."""
    garments = {colour.name: colour.lab for colour in shop.garment_colours}
    return garments | {ink.name: ink.lab for ink in shop.inks}


def garment_look(text: str, colours: Sequence[GarmentColour]) -> GarmentLook:
    """A garment colour by the shop's name or by any colour text.

    Raises
    ------
    ColourTextError
        The text names neither.
    """
    names = {colour.name: colour.lab for colour in colours}
    return GarmentLook(name=text.strip(), lab=parse_colour(text, names))


def nearest_stock(lab: Lab, inks: Sequence[StockInk]) -> StockMatch | None:
    """The shelf's nearest ink by CIEDE2000; None for an empty shelf."""
    if not inks:
        return None
    ink, difference = min(
        ((ink, delta_e_2000_single(lab, ink.lab)) for ink in inks), key=lambda pair: pair[1]
    )
    return StockMatch(name=ink.name, delta_e_2000=difference, lab=ink.lab)


def colour_words(delta_e: float, limits: Limits) -> ColourWords:
    """The difference in a customer's words."""
    if delta_e <= limits.colour_match.change:
        return "match"
    return "close" if delta_e <= limits.colour_other.change else "another colour"


def match_inks(
    sized: Sized,
    shop: Shop,
    garment: GarmentLook | None,
    brands: Sequence[BrandColourReport],
    reach: Callable[[Lab], Reach],
) -> tuple[InkReport, ...]:
    """Each measured ink: nearest stock ink, how a spot method would print it, what print reaches.

    An ink that matches the garment is knocked out. An ink that stands for a brand colour follows
    that colour's plan; any other is printed from stock unless no stock ink comes close.
    """
    inks = sized.measured.inks.inks
    area = sized.ink_area_in2
    reports = []
    for ink in inks:
        stock = nearest_stock(ink.lab, shop.inks)
        is_garment = garment is not None and (
            delta_e_2000_single(ink.lab, garment.lab) <= shop.limits.garment_match.change
        )
        brand = _brand_of(ink.lab, brands)
        reports.append(
            InkReport(
                name=_ink_name(stock, brand, ink.hex, shop.limits),
                hex=ink.hex,
                lab=ink.lab,
                share=ink.share,
                area_in2=area * ink.share,
                is_garment=is_garment,
                stock=stock,
                plan="knocked out" if is_garment else _plan(stock, brand, shop.limits),
                digital_lab=(reached := reach(ink.lab)).swatch_lab,
                digital_delta_e_2000=reached.like_hue_delta_e_2000 or reached.delta_e_2000,
                open_outline=ink.open_outline,
            )
        )
    return tuple(reports)


def asked_inks(
    names: Sequence[str], sized: Sized, shop: Shop, garment: GarmentLook | None
) -> tuple[InkReport, ...]:
    """The inks that the order asks for instead of the art's own, sharing its area evenly.

    Raises
    ------
    ColourTextError
        A name that is no stock ink and no colour.
    """
    labs = {name: parse_colour(name, named_colours(shop)) for name in names}
    share = 1 / len(labs)
    return tuple(
        InkReport(
            name=name,
            hex=lab_to_hex(lab),
            lab=lab,
            share=share,
            area_in2=sized.ink_area_in2 * share,
            is_garment=garment is not None
            and delta_e_2000_single(lab, garment.lab) <= shop.limits.garment_match.change,
            stock=(stock := nearest_stock(lab, shop.inks)),
            plan=_plan(stock, None, shop.limits),
        )
        for name, lab in labs.items()
    )


def _brand_of(lab: Lab, brands: Sequence[BrandColourReport]) -> BrandColourReport | None:
    """The brand colour that this ink stands for: found in the art, and nearest to this ink."""
    near = [
        (delta_e_2000_single(lab, brand.target_lab), brand)
        for brand in brands
        if brand.found_in_art
    ]
    best = min(near, key=lambda pair: pair[0], default=None)
    if best is None or best[1].art_delta_e_2000 is None:
        return None
    return best[1] if best[0] <= best[1].art_delta_e_2000 + 1e-6 else None


def _ink_name(
    stock: StockMatch | None, brand: BrandColourReport | None, hex_text: str, limits: Limits
) -> str:
    if brand is not None:
        return brand.name
    if stock is not None and stock.delta_e_2000 <= limits.colour_other.change:
        return stock.name
    return hex_text


def _plan(stock: StockMatch | None, brand: BrandColourReport | None, limits: Limits) -> str:
    if brand is not None:
        return brand.plan
    close = stock is not None and stock.delta_e_2000 <= limits.colour_other.change
    return "stock" if close else "mixed"


def match_brand_colours(
    wanted: Sequence[BrandColour],
    sized: Sized,
    shop: Shop,
    reach: Callable[[Lab], Reach],
    print_condition: str,
) -> tuple[BrandColourReport, ...]:
    """Each named colour: how near CMYK print comes, how near the shelf, and whether the art has it.

    Raises
    ------
    ColourTextError
        A text that names no colour.
    """
    names = named_colours(shop)
    first = [
        _brand_report(brand, parse_colour(brand.colour, names), sized, shop, reach, print_condition)
        for brand in wanted
    ]
    return _with_plans(first, shop.limits)


def _brand_report(
    brand: BrandColour,
    target: Lab,
    sized: Sized,
    shop: Shop,
    reach: Callable[[Lab], Reach],
    print_condition: str,
) -> BrandColourReport:
    reached = reach(target)
    inks = sized.measured.inks.inks
    in_art = min((delta_e_2000_single(target, ink.lab) for ink in inks), default=None)
    return BrandColourReport(
        name=brand.name,
        target_lab=target,
        reachable_lab=reached.lab,
        delta_e_2000=reached.delta_e_2000,
        like_hue_lab=reached.like_hue_lab,
        like_hue_delta_e_2000=reached.like_hue_delta_e_2000,
        verdict=colour_words(reached.delta_e_2000, shop.limits),
        print_condition=print_condition,
        nearest_ink=nearest_stock(target, shop.inks),
        found_in_art=in_art is not None and in_art <= shop.limits.colour_other.change,
        art_delta_e_2000=in_art,
        critical=brand.critical,
    )


def _with_plans(
    reports: Sequence[BrandColourReport], limits: Limits
) -> tuple[BrandColourReport, ...]:
    """Decide which brand colours a spot method mixes.

    A critical colour is mixed unless a stock ink matches it. Another is printed from stock while
    that is close. But the colours of one design are seen side by side: once one of them has to be
    mixed, those that do not match are mixed too, so that one is not exact beside one that is off.
    """
    differences = [r.nearest_ink.delta_e_2000 if r.nearest_ink else None for r in reports]
    off = [d is None or d > limits.colour_match.change for d in differences]
    far = [d is None or d > limits.colour_other.change for d in differences]
    mixing = any(
        is_far or (is_off and report.critical)
        for is_far, is_off, report in zip(far, off, reports, strict=True)
    )
    return tuple(
        report.model_copy(update={"plan": "mixed" if mixing and is_off else "stock"})
        for report, is_off in zip(reports, off, strict=True)
    )


def contrasts(
    inks: Sequence[InkReport], garment: GarmentLook | None, limits: Limits
) -> tuple[ContrastReport, ...]:
    """Each ink's lightness against the garment's; nothing where the garment is unknown."""
    if garment is None:
        return ()
    words = [contrast_words(ink, garment, limits) for ink in inks]
    inside = [ink.is_inside for ink in inks]
    # Only where all that faces the garment reads on it: inside an outline that the garment
    # swallows, an ink stands on the garment after all.
    framed = any(inside) and all(
        word == "clear" for word, within in zip(words, inside, strict=True) if not within
    )
    if framed:
        words = [
            "inside other inks" if within and word in ("weak", "unreadable") else word
            for word, within in zip(words, inside, strict=True)
        ]
    return tuple(
        ContrastReport(
            ink=ink.name,
            garment=garment.name,
            delta_l=abs(ink.lab[0] - garment.lab[0]),
            contrast_ratio=contrast_ratio(ink.lab, garment.lab),
            delta_e_2000=delta_e_2000_single(ink.lab, garment.lab),
            verdict=word,
        )
        for ink, word in zip(inks, words, strict=True)
    )


def contrast_words(ink: InkReport, garment: GarmentLook, limits: Limits) -> ContrastWords:
    """Readability follows lightness, not colour difference."""
    if ink.is_garment:
        return "matches garment"
    difference = abs(ink.lab[0] - garment.lab[0])
    stop = limits.contrast.stop
    if stop is not None and difference < stop:
        return "unreadable"
    return "weak" if difference < limits.contrast.change else "clear"
