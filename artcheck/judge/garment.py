"""Rules about the garment: heat, dye, care label, who wears it, where the print sits."""

from __future__ import annotations

from collections.abc import Iterator

from artcheck.domain.findings import Evidence, Finding
from artcheck.domain.shop import Fabric, Limits, Method
from artcheck.judge.case import Case, Cloth, against, fact
from artcheck.units import celsius_to_fahrenheit, fahrenheit_to_celsius

IRON_CELSIUS = {1: 110, 2: 150, 3: 200}
"""Highest soleplate temperature by dots in the ironing symbol (ISO 3758:2012, table 4)."""

DARK_BELOW_L = 50.0
"""Garments darker than this hold enough dye to show in a light ink (common practice)."""

RED_HUE_DEG = (0.0, 60.0)
"""Reds bleed first: hue angles of CIELAB that count as red (common practice)."""

RED_CHROMA = 30.0
"""Least chroma for a garment to count as red rather than as pink-ish grey (common practice)."""


def garment_rules(case: Case, method: Method) -> Iterator[Finding]:
    """Every finding about the garment for this method."""
    if method.press is not None:
        yield from fabric_heat(case.cloth, method)
        yield from dye_migration(case.cloth, case.limits, method)
        yield from care_label(case.cloth, method)
    yield from coated(case.cloth)
    yield from children(case.cloth)
    yield from unpriced(case.cloth)
    yield from placement(case)
    yield from platen(case)
    yield from each_different(case, method)


def fabric_heat(cloth: Cloth, method: Method) -> Iterator[Finding]:
    """Fabrics that the method's press temperature would damage."""
    fabric = cloth.fabric
    if fabric is None or method.press is None:
        return
    temperature = method.press.temperature_f
    if fabric.refuse:
        yield _refused(fabric, method, temperature)
    elif fabric.highest_press_f is not None and temperature > fabric.highest_press_f:
        yield Finding(
            id="fabric-too-hot",
            severity="stop",
            curable=False,
            text=(
                f"{method.name} press at {_degrees(temperature)};"
                f" {fabric.name} takes at most {_degrees(fabric.highest_press_f)}."
            ),
            evidence=Evidence(
                measured=temperature,
                limit=fabric.highest_press_f,
                unit="degrees F",
                limit_source=f"{fabric.reason} ({fabric.status})",
            ),
        )


def _refused(fabric: Fabric, method: Method, temperature: float) -> Finding:
    return Finding(
        id="fabric-refused",
        severity="stop",
        curable=False,
        text=(
            f"Do not press {fabric.name}: {method.name.lower()} need {_degrees(temperature)},"
            " and the cloth is damaged first."
        ),
        evidence=Evidence(
            measured=temperature,
            limit=fabric.damaged_from_f,
            unit="degrees F",
            limit_source=f"{fabric.reason} ({fabric.status})",
        ),
        message=f"{fabric.name.capitalize()} melts in the heat press. We suggest cotton instead.",
    )


def dye_migration(cloth: Cloth, limits: Limits, method: Method) -> Iterator[Finding]:
    """Dye that moves into the ink after pressing, worst on dark and red polyester."""
    if cloth.fabric is None or not cloth.fabric.dyes_migrate or method.press is None:
        return
    temperature, limit = method.press.temperature_f, limits.dye_migration
    if temperature < limit.change:
        return
    expected = limit.stop is not None and temperature >= limit.stop and _dark_or_red(cloth)
    colour = f"{cloth.colour_name} " if cloth.colour_name else ""
    yield Finding(
        id="dye-migration",
        severity="change",
        text=(
            f"{colour}{cloth.fabric.name} at {_degrees(temperature)}:"
            f" {'expect' if expected else 'watch for'} the garment's dye to move into the print"
            f"{' (white turns pink on red)' if expected and _is_red(cloth) else ''},"
            " after hours or up to two weeks."
        ),
        evidence=against(temperature, limit, limit.stop if expected else limit.change),
        change=(
            "order dye-blocking transfers, press at the lowest temperature the maker allows,"
            " press one and wait a day or more"
        ),
        message=(
            "On polyester the garment's dye can tint the print days later. We use dye-blocking"
            " transfers and press a test piece first; please allow time for it."
        ),
    )


def _dark_or_red(cloth: Cloth) -> bool:
    return cloth.colour is not None and (cloth.colour[0] < DARK_BELOW_L or _is_red(cloth))


def _is_red(cloth: Cloth) -> bool:
    """A chroma and hue test, without trigonometry: hue 0-60 is a > 0, 0 <= b <= a tan 60."""
    if cloth.colour is None:
        return False
    _, a, b = cloth.colour
    return a > 0 and 0 <= b <= a * 3**0.5 and (a * a + b * b) ** 0.5 >= RED_CHROMA


def care_label(cloth: Cloth, method: Method) -> Iterator[Finding]:
    """The ironing symbol: for household irons, so a caution rather than a pass."""
    if cloth.care_dots is None or method.press is None:
        return
    if cloth.care_dots == 0:
        yield Finding(
            id="care-label-no-iron",
            severity="stop",
            curable=False,
            text='The care label says "do not iron": do not press this garment.',
            evidence=Evidence(
                measured=method.press.temperature_f,
                limit="do not iron",
                unit="degrees F",
                limit_source="ISO 3758:2012",
            ),
        )
        return
    allowed = celsius_to_fahrenheit(IRON_CELSIUS[cloth.care_dots])
    if method.press.temperature_f > allowed:
        yield Finding(
            id="care-label-exceeded",
            severity="change",
            text=(
                f"The press at {_degrees(method.press.temperature_f)} is hotter than the care"
                f" label's iron at {_degrees(allowed)}: ask the garment maker, test one piece."
            ),
            evidence=Evidence(
                measured=method.press.temperature_f,
                limit=allowed,
                unit="degrees F",
                limit_source="ISO 3758:2012, for household irons",
            ),
            change="ask the garment maker and press a test piece",
        )


def coated(cloth: Cloth) -> Iterator[Finding]:
    """Coatings can stop the bond."""
    if cloth.fabric is not None and cloth.fabric.coated:
        yield Finding(
            id="fabric-coated",
            severity="change",
            text=f"{cloth.fabric.name.capitalize()} may carry a coating that stops the bond.",
            evidence=fact(cloth.fabric.name, "fabric", f"{cloth.fabric.reason}"),
            change="press a test piece, let it cool, and try to lift the print before the run",
        )


def children(cloth: Cloth) -> Iterator[Finding]:
    """Prints on children's goods are regulated."""
    if cloth.children:
        yield Finding(
            id="childrens-goods",
            severity="note",
            text=(
                "For children of 12 or under a print is not covered by the textile exemption from"
                " lead testing: have the transfer maker's certificate before sale; ask first"
                " about sleepwear."
            ),
            evidence=fact(
                "youth sizes",
                "garment",
                "16 CFR 1500.91(d)(7), 1303, 1109, 1307.3, 1615/1616; CPSIA section 101",
            ),
        )


def unpriced(cloth: Cloth) -> Iterator[Finding]:
    """A garment without a price: the order's price would be too low by all of them."""
    if cloth.unpriced is not None:
        yield Finding(
            id="garment-unpriced",
            severity="note",
            text=(
                f"The shop has no price for '{cloth.unpriced}': the garments are not in the cost."
                " Add it to the shop's garments, or mark them as the customer's own."
            ),
            evidence=fact(cloth.unpriced, "garment", "this shop's garments"),
        )


def placement(case: Case) -> Iterator[Finding]:
    """Wider than is usual for the place."""
    place, width = case.placement, case.sized.width_in
    if place is None or width <= place.usual_width_in * case.limits.placement_width.change:
        return
    limit = case.limits.placement_width
    yield Finding(
        id="placement-wide",
        severity="note",
        text=(
            f"{width:g} in is wide for a {place.name} print: {place.usual_width_in:g} in is usual"
            f" ({place.narrowest_in:g} to {place.widest_in:g})."
        ),
        evidence=against(width / place.usual_width_in, limit, limit.change),
        message=(
            f"For a {place.name} print {place.usual_width_in:g} in is the usual width;"
            f" yours is {width:g} in. Is that what you want?"
        ),
    )


def platen(case: Case) -> Iterator[Finding]:
    """A print that the press cannot close on at once."""
    size = case.equipment.platen_in
    if size is None:
        return
    width, height = case.sized.width_in, case.sized.height_in
    if min(width, height) <= min(size) and max(width, height) <= max(size):
        return
    yield Finding(
        id="print-over-platen",
        severity="stop",
        text=(
            f"The print of {width:.1f} x {height:.1f} in is larger than the press of"
            f" {size[0]:g} x {size[1]:g} in."
        ),
        evidence=Evidence(
            measured=round(max(width, height), 2),
            limit=max(size),
            unit="in",
            limit_source="this shop's press",
        ),
        change="print it smaller, or press it in two steps with a plan for the overlap",
    )


def each_different(case: Case, method: Method) -> Iterator[Finding]:
    """Names and numbers: every piece its own design."""
    if case.each_different and not method.each_different:
        yield Finding(
            id="each-different",
            severity="stop",
            curable=False,
            text=f"Every piece carries its own design: {method.name.lower()} set up each anew.",
            evidence=fact("each different", "designs", "the order; this method's set-up"),
        )


def _degrees(temperature_f: float) -> str:
    return f"{temperature_f:.0f} F ({fahrenheit_to_celsius(temperature_f):.0f} C)"
