"""Rules about inks and colours: how many, how near, and whether they show on the garment."""

from __future__ import annotations

from collections.abc import Iterator

from artcheck.domain.check import BrandColourReport, ContrastReport, InkReport
from artcheck.domain.findings import Evidence, Finding, Severity
from artcheck.domain.shop import Limits, Method
from artcheck.judge.case import Case, against, fact, is_spot_like

MOSTLY = 0.8
"""Share of the ink area from which unreadable inks make the whole print unreadable."""


def colour_rules(case: Case, method: Method) -> Iterator[Finding]:
    """Every finding about colour for this method."""
    yield from ink_count(case, method)
    yield from contrast(case)
    yield from knocked_out(case)
    for brand in case.brands:
        yield from brand_colour(brand, case.limits, method)
    if is_spot_like(method):
        yield from stock_inks(case)
    elif not method.exact_inks:
        yield from shifts(case)
        yield from print_condition(case)


def ink_count(case: Case, method: Method) -> Iterator[Finding]:
    """More inks than the method prints, counts that can be read two ways, inks asked for."""
    most = method.most_inks
    if most is not None and case.ink_count is not None and case.ink_count > most:
        yield Finding(
            id="inks-too-many",
            severity="stop",
            curable=False,
            text=f"The art has {case.ink_count} inks; {method.name.lower()} can print {most}.",
            evidence=Evidence(
                measured=float(case.ink_count),
                limit=float(most),
                unit="inks",
                limit_source="this method's price list",
            ),
            change="reduce the art to one ink"
            if most == 1
            else f"reduce the art to {most} inks or fewer",
        )
    readings = case.sized.measured.inks.also_plausible
    if is_spot_like(method) and readings and not case.inks_asked:
        yield Finding(
            id="ink-count-unsure",
            severity="note",
            text="The inks can also be counted as "
            + "; ".join(f"{reading.count} ({reading.why})" for reading in readings)
            + ".",
            evidence=fact(case.ink_count, "inks", "measured in the file"),
        )
    yield from _asked(case, method)


def _asked(case: Case, method: Method) -> Iterator[Finding]:
    found = case.sized.measured.inks.count
    if not case.inks_asked or not is_spot_like(method) or found == len(case.inks_asked):
        return
    names = ", ".join(case.inks_asked)
    yield Finding(
        id="inks-reduced",
        severity="change",
        text=f"The art holds {found or 'many'} inks; the order asks for {names}.",
        evidence=fact(found, "inks", "measured in the file; wanted: the order"),
        change=f"recolour everything to {names}",
        message=f"Everything will be printed in {names}, whatever colours your files show.",
    )


def contrast(case: Case) -> Iterator[Finding]:
    """Inks that cannot be read on the garment, by lightness."""
    for verdict, severity in (("unreadable", "stop"), ("weak", "change")):
        named = [c for c in case.contrast if c.verdict == verdict]
        if not named:
            continue
        share = sum(ink.share for ink in case.inks if ink.name in {c.ink for c in named})
        worst = min(named, key=lambda c: c.delta_l)
        limit = case.limits.contrast
        level: Severity = "stop" if severity == "stop" and share >= MOSTLY else "change"
        yield Finding(
            id="contrast-unreadable" if severity == "stop" else "contrast-weak",
            severity=level,
            text=(
                f"{_list([c.ink for c in named])} on {worst.garment}: L* differs by only"
                f" {worst.delta_l:.0f} (contrast ratio {worst.contrast_ratio:.1f}),"
                f" {'it cannot be read' if severity == 'stop' else 'hard to read at a distance'}."
            ),
            evidence=against(
                worst.delta_l, limit, limit.stop if severity == "stop" else limit.change
            ),
            change=_left_open(named)
            + "choose an ink much lighter or darker than the garment"
            + _better_inks(case, worst.garment),
            message=(
                f"{_list([c.ink for c in named])} will hardly show on {worst.garment}."
                " May we use a lighter or darker ink?"
            ),
        )


STANDS_IN = 15.0
"""dE00 up to which a garment can stand for an ink. Common practice, no source."""


def _left_open(named: list[ContrastReport]) -> str:
    """The inks that the garment nearly has: an artist leaves them out and prints what is around."""
    near = [contrast for contrast in named if contrast.delta_e_2000 <= STANDS_IN]
    if not near:
        return ""
    apart = max(contrast.delta_e_2000 for contrast in near)
    names, garment = _list([contrast.ink for contrast in near]), near[0].garment
    return f"leave {names} open so that the {garment} garment shows ({apart:.0f} dE00 apart), or "


MOST_OFFERED = 2


def _better_inks(case: Case, garment: str) -> str:
    """Stock inks that read best on this garment, or another garment."""
    if case.cloth.colour is None:
        return ""
    ground = case.cloth.colour[0]
    clear = [i for i in case.stock if abs(i.lab[0] - ground) >= case.limits.contrast.change]
    clear.sort(key=lambda ink: -abs(ink.lab[0] - ground))
    names = " or ".join(ink.name for ink in clear[:MOST_OFFERED])
    offer = f" ({names})" if names else ""
    return f"{offer}, or another garment colour than {garment}"


def knocked_out(case: Case) -> Iterator[Finding]:
    """Inks of the garment's own colour: left out, or lost when nothing else surrounds them."""
    same = [ink for ink in case.inks if ink.is_garment]
    if not same:
        return
    limit = case.limits.garment_match
    everything = len(same) == len(case.inks)
    if not everything and all(ink.is_inside for ink in same):
        yield Finding(
            id="ink-is-garment",
            severity="note",
            text=(
                f"{_list([ink.name for ink in same])} matches the {case.cloth.colour_name} garment"
                " and lies inside other inks: it is left out, and the garment shows in its place."
            ),
            evidence=against(float(len(same)), limit, limit.change),
        )
        return
    yield Finding(
        id="ink-is-garment",
        severity="stop" if everything else "change",
        text=(
            f"{_list([ink.name for ink in same])} matches the {case.cloth.colour_name} garment:"
            + (
                " nothing would show."
                if everything
                else " it is left out and the garment shows; whatever stands alone in it vanishes."
            )
        ),
        evidence=against(float(len(same)), limit, limit.change),
        change="recolour what must be seen"
        if everything
        else "check that nothing is lost, or recolour it",
        message=(
            f"{_list([ink.name for ink in same])} has the garment's own colour and will not show."
        ),
    )


def brand_colour(brand: BrandColourReport, limits: Limits, method: Method) -> Iterator[Finding]:
    """How well this method keeps a colour that the customer named."""
    if not brand.found_in_art:
        yield _not_in_art(brand, limits)
    if not method.exact_inks:
        yield from _brand_in_process(brand, limits)
    elif method.mixes_inks:
        yield from _brand_in_ink(brand, limits, method)
    else:
        yield from _brand_from_shelf(brand, limits, method)


def _not_in_art(brand: BrandColourReport, limits: Limits) -> Finding:
    off = brand.art_delta_e_2000
    distance = "" if off is None else f" (its nearest ink is {off:.1f} dE00 away)"
    return Finding(
        id="brand-colour-not-in-art",
        severity="note",
        text=f"{brand.name} is not in the file{distance}: print to the named colour.",
        evidence=against(off, limits.colour_other, limits.colour_other.change),
        message=f"Your file holds another colour than the {brand.name} you named. Which counts?",
    )


def _brand_in_ink(brand: BrandColourReport, limits: Limits, method: Method) -> Iterator[Finding]:
    stock = brand.nearest_ink
    if brand.plan == "mixed":
        near = (
            f"; the nearest on the shelf is {stock.name}, {stock.delta_e_2000:.1f} dE00 away"
            if stock
            else ""
        )
        yield Finding(
            id="brand-colour-mixed",
            severity="note",
            text=f"{brand.name} is mixed to order, exact within the printer's tolerance{near}.",
            evidence=against(
                stock.delta_e_2000 if stock else None,
                limits.colour_match,
                limits.colour_match.change,
            ),
        )
    elif stock is not None and stock.delta_e_2000 > limits.colour_match.change:
        yield Finding(
            id="brand-colour-close",
            severity="note",
            text=(
                f"{brand.name} is printed in {stock.name}, {stock.delta_e_2000:.1f} dE00 away:"
                f" close, not the same. {method.name} can also mix it."
            ),
            evidence=against(stock.delta_e_2000, limits.colour_match, limits.colour_match.change),
            message=f"{brand.name} will be close to your colour, not identical, unless we mix it.",
        )


def _brand_in_process(brand: BrandColourReport, limits: Limits) -> Iterator[Finding]:
    off = brand.delta_e_2000
    if brand.verdict == "match":
        return
    other = brand.verdict == "another colour"
    limit = limits.colour_other if other else limits.colour_match
    words = "another colour" if other else "close, not the same"
    severity: Severity = "note"
    if brand.critical:
        severity = "stop" if other else "change"
    elif other:
        severity = "change"
    yield Finding(
        id="brand-colour-out-of-reach",
        severity=severity,
        curable=not (brand.critical and other),
        text=(
            f"{brand.name} cannot be held in CMYK print: the nearest is {off:.1f} dE00 away,"
            f" {words}."
        ),
        evidence=against(off, limit, limit.change).model_copy(
            update={"limit_source": f"{limit.source}; reckoned for {brand.print_condition}"}
        ),
        change="have the customer approve a printed swatch, or print it in a spot ink",
        message=(
            f"Full-colour print cannot reach {brand.name}; it will look {words}."
            " A printed swatch shows what to expect."
        ),
    )


def _brand_from_shelf(
    brand: BrandColourReport, limits: Limits, method: Method
) -> Iterator[Finding]:
    """A colour that has to come from the shelf as it is."""
    stock = brand.nearest_ink
    off = stock.delta_e_2000 if stock else None
    if off is not None and off <= limits.colour_match.change:
        return
    other = off is None or off > limits.colour_other.change
    limit = limits.colour_other if other else limits.colour_match
    near = f"the nearest is {stock.name}, {off:.1f} dE00 away" if stock else "the shelf is empty"
    severity: Severity = "change" if other else "note"
    if brand.critical:
        severity = "stop"
    yield Finding(
        id="brand-colour-not-on-shelf",
        severity=severity,
        curable=not brand.critical,
        text=f"{method.name} takes colours from the shelf; for {brand.name} {near}.",
        evidence=against(off, limit, limit.change),
        change="have the customer approve the colour on the shelf, or choose a mixed ink",
    )


def shifts(case: Case) -> Iterator[Finding]:
    """Inks of the art that full-colour print will shift, worst first; brand colours speak apart."""
    named = {brand.name for brand in case.brands}
    limit = case.limits.colour_other
    off = [
        (ink.digital_delta_e_2000, ink)
        for ink in case.inks
        if ink.digital_delta_e_2000 is not None
        and ink.digital_delta_e_2000 > limit.change
        and ink.name not in named
        and not ink.is_garment
    ]
    if not off:
        return
    off.sort(key=lambda pair: -pair[0])
    yield Finding(
        id="ink-shift",
        severity="note",
        text="Full-colour print shifts "
        + ", ".join(f"{ink.name} by {distance:.1f} dE00" for distance, ink in off)
        + ": another colour to the eye.",
        evidence=against(off[0][0], limit, limit.change),
        message="Some strong colours of your file print duller than a screen shows them.",
    )


def print_condition(case: Case) -> Iterator[Finding]:
    """What a user should know of the print condition that colours are reckoned for."""
    for warning in case.print_warnings:
        yield Finding(
            id="print-condition",
            severity="note",
            text=warning,
            evidence=fact(None, "", "the shop's profile or chart"),
        )


def stock_inks(case: Case) -> Iterator[Finding]:
    """Inks of the art that no brand colour names, against the shelf."""
    named = {brand.name for brand in case.brands}
    for ink in case.inks:
        if ink.is_garment or ink.name in named or ink.stock is None:
            continue
        yield from _stock_ink(ink, case.limits)


def _stock_ink(ink: InkReport, limits: Limits) -> Iterator[Finding]:
    assert ink.stock is not None
    off = ink.stock.delta_e_2000
    if off <= limits.colour_match.change:
        return
    far = off > limits.colour_other.change
    limit = limits.colour_other if far else limits.colour_match
    yield Finding(
        id="ink-far-from-stock" if far else "ink-close-to-stock",
        severity="note",
        text=(
            f"{ink.hex} has no stock ink near it ({ink.stock.name} is {off:.1f} dE00 away):"
            " mixed to order."
            if far
            else f"{ink.hex} is printed in {ink.stock.name}, {off:.1f} dE00 away: close."
        ),
        evidence=against(off, limit, limit.change),
    )


def _list(names: list[str]) -> str:
    """Join words: "a", "a and b", "a, b and c"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
