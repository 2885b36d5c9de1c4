"""What the press sheet warns of. Starting points only: the makers' sheets come first."""

from __future__ import annotations

from collections.abc import Iterator

from artcheck.domain.findings import Finding
from artcheck.domain.shop import Equipment, Method
from artcheck.judge.case import Cloth

CONTINUOUS_SHARE = 0.8
"""Part of a breaker's rating that a load of three hours or more may take (NEC 210.19(A)(1))."""

SMALLEST_CIRCUITS_AMPS = (15, 20)
"""Ordinary branch circuits in North America."""

DEFERENCE = (
    "These settings are starting points. The transfer maker's and the garment maker's sheets come"
    " first, then the press manual and local codes; for wiring, ventilation or children's goods"
    " ask a licensed or qualified person. Test one piece before the run."
)

HOT_FROM_F = 392.0
"""200 C, where overheated PVC becomes a matter of breathing (29 CFR 1910.1200, from memory)."""


def cautions(
    method: Method, cloth: Cloth, equipment: Equipment, findings: tuple[Finding, ...]
) -> tuple[str, ...]:
    """The cautions for this press run, the always ones first, the deference last."""
    return (
        *_always(method, equipment),
        *_of_findings(findings),
        *_of_cloth(cloth),
        "Seams, zips, buttons and pockets keep the platen off the print: raise or avoid them.",
        DEFERENCE,
    )


def _always(method: Method, equipment: Equipment) -> Iterator[str]:
    yield (
        "The platens burn at once: keep hands clear, wear heat gloves for hot peel, let it cool"
        " before service."
    )
    yield (
        "The closing press traps fingers: one operator, guard or two-hand release where fitted,"
        " never leave it on or closed unattended."
    )
    hot = method.press is not None and method.press.temperature_f >= HOT_FROM_F
    yield (
        "Move air and read the ink's or film's safety data sheet; overheated PVC can give off"
        " hydrogen chloride." + (" At this temperature above all." if hot else "")
    )
    yield _circuit(equipment)


def _circuit(equipment: Equipment) -> str:
    rule = "One press a circuit, no thin extension cords"
    if equipment.press_watts is None:
        limits = ", ".join(
            f"{amps * equipment.volts * CONTINUOUS_SHARE:,.0f} W on {amps} A"
            for amps in SMALLEST_CIRCUITS_AMPS
        )
        return f"{rule}; long runs stay under 80 % of the breaker ({limits} at 120 V)."
    amps = equipment.circuit_amps or SMALLEST_CIRCUITS_AMPS[0]
    allowed = amps * equipment.volts * CONTINUOUS_SHARE
    fits = "within" if equipment.press_watts <= allowed else "MORE THAN"
    return (
        f"{rule}: this press draws {equipment.press_watts:,.0f} W, {fits} the"
        f" {allowed:,.0f} W that a {amps:g} A circuit gives a long run."
    )


def _of_findings(findings: tuple[Finding, ...]) -> Iterator[str]:
    ids = {finding.id for finding in findings}
    if "dye-migration" in ids:
        yield "Press one, let it cool and wait a day or more: dye moves late on polyester."
    else:
        yield "Press one, let it cool and look before the run."
    if "care-label-exceeded" in ids:
        yield "The press is hotter than the care label's iron: ask the garment maker."
    if {"fabric-refused", "fabric-too-hot", "care-label-no-iron"} & ids:
        yield "DO NOT PRESS this garment by this method."


def _of_cloth(cloth: Cloth) -> Iterator[str]:
    if cloth.fabric is not None and cloth.fabric.coated:
        yield "A coating can stop the bond: test adhesion on one piece."
    if cloth.children:
        yield (
            "For age 12 and under: cloth is spared the test for lead, a print on it is not (16 CFR"
            " 1500.91). Have the transfer maker's certificate before sale (total lead 100 ppm,"
            " paint and coatings 90 ppm; phthalates above 0.1 % barred in toys and child-care"
            " articles). Sleepwear: ask first."
        )
