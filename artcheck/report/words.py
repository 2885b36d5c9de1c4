"""Wording and figures that the text report and the page share."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from artcheck.domain.check import (
    BrandColourReport,
    ContrastReport,
    CostReport,
    DetailReport,
    Flip,
    GarmentReport,
    InkReport,
    InksReport,
    MethodReport,
    PressReport,
    Report,
    StockMatch,
)
from artcheck.domain.findings import Evidence, Finding, Severity, Verdict
from artcheck.plain import plain as plain  # also for the other reports
from artcheck.units import fahrenheit_to_celsius

NOTHING = "–"
"""Stands where there is no figure."""

VERDICTS: dict[Verdict, str] = {
    "suits": "suits",
    "suits_with_changes": "after changes",
    "unsuitable": "unsuitable",
}
SEVERITIES: dict[Severity, str] = {"stop": "Stop", "change": "Change", "note": "Note"}
_RANK: dict[Severity, int] = {"stop": 0, "change": 1, "note": 2}

TIE = "tie"
"""What a flip calls its method where two cost the same."""


# --- figures ------------------------------------------------------------------------------------


def money(amount: Decimal) -> str:
    """An amount with thousands set off, its decimals untouched: 1,448.80."""
    return f"{amount:,f}"


def percent(share: float) -> str:
    """A share in words: whole percents, one decimal below ten."""
    return f"{share:.1%}" if 0 < share < 0.0995 else f"{share:.0%}"


_WHOLE_FROM = 999.5
"""From here on three digits would hide whole ones."""


def figure(value: float | str | None) -> str:
    """A measured figure to three digits: more say nothing."""
    if value is None or isinstance(value, str):
        return NOTHING if value is None else value
    return f"{value:,.0f}" if abs(value) >= _WHOLE_FROM else f"{value:.3g}"


def points(length_pt: float | None) -> str:
    """A length in points, or words for none."""
    return "none found" if length_pt is None else f"{length_pt:.2f} pt"


def size(width_in: float, height_in: float) -> str:
    """Width by height in inches."""
    return f"{width_in:.2f} × {height_in:.2f} in"


def listed(names: Sequence[str]) -> str:
    """Join words: "a", "a and b", "a, b and c"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


# --- findings -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SharedFinding:
    """A finding once, with the names of the methods that it concerns."""

    finding: Finding
    methods: tuple[str, ...]


def shared_findings(methods: Sequence[MethodReport]) -> tuple[SharedFinding, ...]:
    """Each finding once, worst first: stops that nothing cures before those that a change settles.

    Two methods share one when id, severity and limit agree and the text differs in nothing but
    the method's name.
    """
    first: dict[tuple[object, ...], Finding] = {}
    names: dict[tuple[object, ...], list[str]] = {}
    for method in methods:
        for finding in method.findings:
            key = _sharing_key(finding, method.name)
            first.setdefault(key, finding)
            names.setdefault(key, []).append(method.name)
    shared = [SharedFinding(first[key], tuple(dict.fromkeys(names[key]))) for key in first]
    return tuple(sorted(shared, key=lambda s: (_RANK[s.finding.severity], s.finding.curable)))


def _sharing_key(finding: Finding, name: str) -> tuple[object, ...]:
    text = finding.text.replace(name, "").replace(name.lower(), "")
    return finding.id, finding.severity, text, finding.evidence.limit


def own_and_other_findings(
    report: Report,
) -> tuple[tuple[SharedFinding, ...], tuple[SharedFinding, ...]]:
    """Findings on the recommended method, then those that only concern the others.

    Where no method is recommended, all are the first kind.
    """
    answer = report.recommendation.method
    if answer is None:
        return shared_findings(report.methods), ()
    chosen = next((m for m in report.methods if m.id == answer), None)
    name = chosen.name if chosen else ""
    every = shared_findings(report.methods)
    return (
        tuple(s for s in every if name in s.methods),
        tuple(s for s in every if name not in s.methods),
    )


def evidence_words(evidence: Evidence) -> str:
    """What was measured, the limit it met and where the limit came from, in one line."""
    unit = f" {evidence.unit}" if evidence.unit else ""
    if evidence.limit is None:
        met = "" if evidence.measured is None else f"{figure(evidence.measured)}{unit}; "
        return f"{met}{evidence.limit_source}"
    measured = "" if evidence.measured is None else f"measured {figure(evidence.measured)}, "
    return f"{measured}limit {figure(evidence.limit)}{unit}: {evidence.limit_source}"


# --- methods ------------------------------------------------------------------------------------


def chosen_method(report: Report) -> MethodReport | None:
    """The recommended method's own report."""
    return next((m for m in report.methods if m.id == report.recommendation.method), None)


def ranked(report: Report) -> tuple[MethodReport, ...]:
    """The recommended method first, then what suits by price, then what does not."""

    def key(method: MethodReport) -> tuple[bool, bool, bool, Decimal]:
        total = method.cost.total if method.cost else Decimal("Infinity")
        return (
            method.id != report.recommendation.method,
            method.verdict == "unsuitable",
            not method.recommendable,
            total,
        )

    return tuple(sorted(report.methods, key=key))


def method_with_inks(method: MethodReport) -> str:
    """The method's name and, where it prints separate inks, how many."""
    if method.inks is None:
        return method.name
    return f"{method.name}, {method.inks} {'ink' if method.inks == 1 else 'inks'}"


def sheets(cost: CostReport) -> str:
    """Sheets needed and, where that is another figure, bought."""
    if cost.sheets_bought is None:
        return NOTHING
    if cost.sheets_needed is None or cost.sheets_needed == cost.sheets_bought:
        return str(cost.sheets_bought)
    return f"{cost.sheets_needed}, buy {cost.sheets_bought}"


def method_names(report: Report) -> dict[str, str]:
    """Method id to name, with the word for a tie."""
    return {m.id: m.name for m in report.methods} | {TIE: "either costs the same"}


def why_not(report: Report) -> tuple[tuple[str, str], ...]:
    """(method, reason) for the others, without what the recommendation's reasons already say."""
    answer, names = report.recommendation, method_names(report)
    said = " ".join((answer.headline, *answer.reasons))
    return tuple(
        (names.get(other.method, other.method), other.why_not)
        for other in answer.alternatives
        if other.why_not and other.why_not not in said
    )


def press_settings(press: PressReport) -> str:
    """Temperature in both scales, time, pressure, peel."""
    celsius = fahrenheit_to_celsius(press.temperature_f)
    return (
        f"{press.temperature_f:g} °F ({celsius:.0f} °C), {press.seconds:g} s,"
        f" {press.pressure} pressure; peel {press.peel}"
    )


MOST_FLIP_ROWS = 12
"""Rows of "cheapest by quantity" that a reader takes in; more are told as one close call."""


@dataclass(frozen=True, slots=True)
class QuantityRow:
    """Quantities over which one answer holds."""

    quantities: str
    answer: str
    close: bool


def quantity_rows(report: Report) -> tuple[QuantityRow, ...]:
    """Who is cheapest at which quantity; the last stretch is open-ended."""
    flips, close = report.recommendation.flips, report.recommendation.close_call
    names = method_names(report)
    if close is None or len(flips) <= MOST_FLIP_ROWS:
        return tuple(_row(flip, flips[-1], close, names) for flip in flips)
    inside = [flip for flip in flips if _within(flip, close)]
    rivals = listed(list(dict.fromkeys(names.get(f.method, f.method) for f in inside)))
    band = QuantityRow(_span(*close), f"{rivals} in turn", close=True)
    before = [_row(f, flips[-1], None, names) for f in flips if f.to_quantity < close[0]]
    after = [_row(f, flips[-1], None, names) for f in flips if f.from_quantity > close[1]]
    return (*before, band, *after)


def _row(
    flip: Flip, last: Flip, close: tuple[int, int] | None, names: dict[str, str]
) -> QuantityRow:
    quantities = (
        f"{flip.from_quantity:,} and up"
        if flip is last
        else _span(flip.from_quantity, flip.to_quantity)
    )
    return QuantityRow(
        quantities, names.get(flip.method, flip.method), close=bool(close and _within(flip, close))
    )


def _span(first: int, last: int) -> str:
    return f"{first:,}" if first == last else f"{first:,}–{last:,}"


def _within(flip: Flip, close: tuple[int, int]) -> bool:
    return close[0] <= flip.from_quantity and flip.to_quantity <= close[1]


# --- the job, the art, the colours --------------------------------------------------------------


def job_words(report: Report) -> str:
    """The order in a line: pieces, garment, place, size."""
    garment = report.garment
    place = None if garment.placement == garment.kind else garment.placement
    printed = size(report.printed.width_in, report.printed.height_in)
    return ", ".join(part for part in (garment_words(garment), place, printed) if part)


def garment_words(garment: GarmentReport) -> str:
    """Pieces, kind, colour and fabric, as far as they are known."""
    count = "" if garment.pieces is None else f"{garment.pieces:,} ×"
    kind = garment.kind or ("garment" if garment.colour or garment.fabric or count else "")
    first = f"{count} {kind}".strip()
    return ", ".join(part for part in (first, garment.colour, garment.fabric) if part)


def art_facts(report: Report) -> Iterator[tuple[str, str]]:
    """(name, value) of size, resolution and fine detail."""
    art, printed = report.artwork, report.printed
    width, height = art.pixels
    yield "printed", size(printed.width_in, printed.height_in)
    box, share = printed.box_area_in2, percent(printed.coverage)
    yield "ink", f"{printed.ink_area_in2:.1f} of {box:.1f} in² ({share})"
    yield "art", f"{tone_words(report)}; {art.kind}, {width:,} × {height:,} px"
    if report.resolution is not None:
        seen = report.resolution
        yield "resolution", f"{seen.true_dpi:.0f} dpi real, {seen.effective_dpi:.0f} in the file"
        yield "sharp up to", f"{seen.largest_width_in:.1f} in wide"
    yield from _detail_facts(report.detail)
    if report.edges.soft_share > 0:
        edges = report.edges
        yield "soft edge", f"{percent(edges.soft_share)} of outline, {edges.soft_width_pt:.1f} pt"
    yield "background", report.background.reason


def _detail_facts(detail: DetailReport) -> Iterator[tuple[str, str]]:
    yield "thinnest line", points(detail.thinnest_line_pt)
    yield "narrowest gap", points(detail.narrowest_gap_pt)
    letters = [
        f"{value:.0f} pt {words}".rstrip()
        for value, words in (
            (detail.smallest_letters_pt, ""),
            (detail.smallest_reversed_letters_pt, "left open"),
        )
        if value is not None
    ]
    if letters:
        yield "smallest letters", ", ".join(letters)
    if detail.specks:
        yield "specks", str(detail.specks)


def tone_words(report: Report) -> str:
    """Flat, fades or photograph, with the share and any screen found."""
    tone = report.tone
    words = {
        "flat": "flat colour",
        "gradient": f"fades ({percent(tone.gradient_share)} of the ink)",
        "photo": f"photograph ({percent(tone.photo_share)} of the ink)",
    }[tone.kind]
    screens = [f"{h.lpi:.0f} lpi at {h.angle_deg:.0f}°" for h in tone.halftone or ()]
    return f"{words}, screened at {listed(screens)}" if screens else words


def ink_count_words(inks: InksReport) -> str:
    """The count, and how else it may be read."""
    if inks.count is None:
        return "none to count: a photograph"
    asked = inks.list and len(inks.list) != inks.count
    words = f"{len(inks.list)} asked for, {inks.count} in the art" if asked else f"{inks.count}"
    if inks.readings:
        words += "".join(f"; or {r.count} ({r.why})" for r in inks.readings)
    elif inks.also_plausible:
        words += f" (or {listed([str(n) for n in inks.also_plausible])})"
    return words


def stock_words(match: StockMatch | None) -> str:
    """The nearest ink on the shelf and its distance in CIEDE2000."""
    return NOTHING if match is None else f"{match.name}, {match.delta_e_2000:.1f}"


def inks_with_contrast(report: Report) -> tuple[tuple[InkReport, ContrastReport | None], ...]:
    """Each ink with how it shows on the garment. Two inks may bear one name, so places count."""
    inks, contrast = report.inks.list, report.contrast
    if [c.ink for c in contrast] == [ink.name for ink in inks]:
        return tuple(zip(inks, contrast, strict=True))
    by_name = {c.ink: c for c in contrast}
    return tuple((ink, by_name.get(ink.name)) for ink in inks)


def contrast_words(contrast: ContrastReport | None) -> str:
    """The verdict with the contrast ratio behind it."""
    if contrast is None:
        return NOTHING
    if contrast.verdict in ("matches garment", "inside other inks"):
        return contrast.verdict
    return f"{contrast.verdict}, {contrast.contrast_ratio:.1f} : 1"


def in_file_words(brand: BrandColourReport) -> str:
    """Whether the customer's file holds the colour that the customer named, in CIEDE2000."""
    off = brand.art_delta_e_2000
    if off is None:
        return "yes" if brand.found_in_art else "no"
    return f"yes, {off:.1f} off" if brand.found_in_art else f"no, {off:.1f} off"


def full_colour_words(brand: BrandColourReport) -> str:
    """How near full-colour print comes: the verdict and the CIEDE2000 distance."""
    return f"{brand.verdict}, {brand.delta_e_2000:.1f}"
