"""Rules about the art itself: resolution, lines, gaps, letters, tone, edges."""

from __future__ import annotations

from collections.abc import Iterator

from artcheck.domain.base import Box
from artcheck.domain.findings import Finding, Severity
from artcheck.domain.measurements import GroupMeasured, LetterRow, Sized
from artcheck.domain.shop import Limit, Limits, Method
from artcheck.judge.case import Case, against, fact

CAP_HEIGHT_OF_TYPE_SIZE = 0.70
"""Capitals are about 0.7 of the type size in common typefaces (common practice; 0.66 to 0.73)."""

REFERENCE_PPI = 300.0
"""Soft rims are judged in pixels at this resolution, as the trade words the limit."""

ENLARGED_BELOW = 0.85
"""True scale under which art is called enlarged: measuring errs by up to a tenth."""


def art_rules(case: Case, method: Method) -> Iterator[Finding]:
    """Every finding about the art for this method."""
    yield from resolution(case.sized, case.limits)
    yield from lines(case, method)
    yield from gaps(case, method)
    yield from letters(case.sized, case.limits)
    yield from specks(case.sized, case.limits)
    yield from tone(case.sized, case.limits, method)
    yield from soft_edges(case.sized, case.limits, method)
    yield from solid(case.sized, case.limits, method)
    yield from reading_notes(case.sized)
    yield from enclosed_paper(case)


def severity_below(measured: float, limit: Limit) -> Severity | None:
    """Stop or change for a measurement that should not be small."""
    if limit.stop is not None and measured < limit.stop:
        return "stop"
    return "change" if measured < limit.change else None


def threshold_of(severity: Severity, limit: Limit) -> float:
    """The figure that was met."""
    return limit.stop if severity == "stop" and limit.stop is not None else limit.change


# --- resolution ---------------------------------------------------------------------------------


def resolution_limit(sized: Sized, limits: Limits) -> Limit:
    """Photographs forgive more than text and hard edges."""
    photo = sized.measured.tone.kind == "photo"
    return limits.resolution_photo if photo else limits.resolution_edges


def largest_width_in(sized: Sized, limits: Limits) -> float | None:
    """The largest print width at which the real resolution meets the limit."""
    true = sized.true_dpi
    if true is None:
        return None
    return sized.width_in * true / resolution_limit(sized, limits).change


def resolution(sized: Sized, limits: Limits) -> Iterator[Finding]:
    """Real dots per inch at this size, of the whole art or of each design on the page."""
    if sized.true_dpi is None:
        return
    if sized.measured.groups:
        for number, group in enumerate(sized.measured.groups, start=1):
            yield from _group_resolution(number, group, sized, limits)
    else:
        yield from _whole_resolution(sized, limits)
    yield from _enlarged(sized)


def _whole_resolution(sized: Sized, limits: Limits) -> Iterator[Finding]:
    true, limit = sized.true_dpi, resolution_limit(sized, limits)
    assert true is not None
    severity = severity_below(true, limit)
    if severity is None:
        return
    widest = sized.width_in * true / limit.change
    yield Finding(
        id="resolution-low",
        severity=severity,
        text=(
            f"{true:.0f} real dots per inch at {sized.width_in:.2f} in wide:"
            f" edges will look {'ragged' if severity == 'stop' else 'soft'}."
            f" Sharp up to {widest:.1f} in wide."
        ),
        evidence=against(true, limit, threshold_of(severity, limit)),
        change=f"ask for a larger or vector file, redraw it, or print at most {widest:.1f} in wide",
        message=(
            f"Your file is sharp up to about {widest:.1f} in wide; the print is"
            f" {sized.width_in:.1f} in. Do you have a vector file (PDF, SVG) or a larger picture?"
        ),
    )


def _group_resolution(
    number: int, group: GroupMeasured, sized: Sized, limits: Limits
) -> Iterator[Finding]:
    if group.true_scale is None:
        return
    limit = resolution_limit(sized, limits)
    true = sized.ppi * group.true_scale
    severity = severity_below(true, limit)
    if severity is None:
        return
    width = (group.where[3] - group.where[1]) / sized.ppi
    yield Finding(
        id="resolution-low",
        severity=severity,
        text=(
            f"Design {number} on the page has {true:.0f} real dots per inch at {width:.1f} in wide:"
            f" sharp up to {width * true / limit.change:.1f} in"
            + (f", usable up to {width * true / limit.stop:.1f} in." if limit.stop else ".")
        ),
        evidence=against(true, limit, threshold_of(severity, limit), group.where),
        change=f"ask for a better file of design {number}, redraw it, or print it smaller",
        message=(
            f"One of the designs ({_place_words(group.where, sized)}) is too small a picture"
            f" for its size. Can you send it as a vector file or larger?"
        ),
    )


def _place_words(where: Box, sized: Sized) -> str:
    """Where on the page, as a person would point: "upper left"."""
    width, height = sized.measured.pixels
    row, col = (where[0] + where[2]) / 2 / height, (where[1] + where[3]) / 2 / width
    vertical = "upper" if row < 1 / 3 else "lower" if row > 2 / 3 else "middle"
    sideways = "left" if col < 1 / 3 else "right" if col > 2 / 3 else "centre"
    return f"{vertical} {sideways}"


def _enlarged(sized: Sized) -> Iterator[Finding]:
    sharpness = sized.measured.sharpness
    if sharpness is None or sharpness.true_scale >= ENLARGED_BELOW or sized.measured.groups:
        return
    factor = 1 / sharpness.true_scale
    yield Finding(
        id="art-enlarged",
        severity="note",
        text=(
            f"The file has been enlarged about {factor:.1f} times: its pixels say"
            f" {sized.effective_dpi:.0f} dpi, its detail {sized.true_dpi:.0f} dpi"
            f" ({sharpness.method})."
        ),
        evidence=fact(round(sharpness.true_scale, 3), "true scale", "measured in the file"),
    )


# --- fine detail --------------------------------------------------------------------------------


def line_limit(method: Method, limits: Limits) -> Limit:
    """Each family holds a different thinnest line."""
    if method.family == "full_colour":
        return limits.line_full_colour
    return limits.line_cut_film if method.family == "cut_film" else limits.line_spot


def _prints_all_at_once(method: Method) -> bool:
    """A line of one ink on another is held by the ink beside it: nothing there can come off."""
    return method.family == "full_colour"


def lines(case: Case, method: Method) -> Iterator[Finding]:
    """The thinnest positive line against what the method holds."""
    sized, detail = case.sized, case.sized.measured.detail
    found = detail.open_lines if _prints_all_at_once(method) else detail.lines
    if not found or sized.measured.tone.kind == "photo":
        return
    width, where = sized.pt(found[0].width_px), found[0].where
    limit = line_limit(method, case.limits)
    severity = severity_below(width, limit)
    if severity is not None:
        threshold = threshold_of(severity, limit)
        yield Finding(
            id="line-thin",
            severity=severity,
            # A screen or a film printer prints a thickened line; a knife cannot cut around it.
            curable=method.family != "cut_film",
            text=(
                f"The thinnest line is {width:.2f} pt; the limit for {method.name.lower()} is"
                f" {threshold:g} pt."
            ),
            evidence=against(width, limit, threshold, where),
            change=f"thicken lines under {limit.change:g} pt, or print larger",
            message=(
                f"Some lines are only {width:.1f} pt thin and may break up or come off."
                " We suggest making them thicker."
            ),
        )
    elif method.family == "full_colour":
        yield from _untested_line(width, case.limits.line_full_colour_untested, where)


def _untested_line(width: float, limit: Limit, where: Box | None) -> Iterator[Finding]:
    if width < limit.change:
        yield Finding(
            id="line-test-first",
            severity="note",
            text=(
                f"The thinnest line is {width:.2f} pt. Printers of film state limits between 0.35"
                " and 1.5 mm (1 and 4.25 pt): test first."
            ),
            evidence=against(width, limit, limit.change, where),
        )


def gaps(case: Case, method: Method) -> Iterator[Finding]:
    """The narrowest gap against what stays open in the method's ink."""
    sized, detail = case.sized, case.sized.measured.detail
    film = _prints_all_at_once(method)
    found = detail.open_gaps if film else detail.gaps
    if not found or sized.measured.tone.kind == "photo":
        return
    width = sized.pt(found[0].width_px)
    limit = case.limits.gap_full_colour if film else case.limits.gap_spot
    severity = severity_below(width, limit)
    if severity is None:
        return
    threshold = threshold_of(severity, limit)
    yield Finding(
        id="gap-narrow",
        severity=severity,
        text=f"The narrowest gap is {width:.2f} pt; under {threshold:g} pt it fills in.",
        evidence=against(width, limit, threshold, found[0].where),
        change=f"open gaps under {limit.change:g} pt, or print larger",
        message=f"Some gaps are only {width:.1f} pt wide and may close up in print.",
    )


def letters(sized: Sized, limits: Limits) -> Iterator[Finding]:
    """The smallest row of letters, printed and reversed, as type size."""
    rows = sized.measured.detail.letters
    for limit, chosen, words in (
        (limits.letters, [r for r in rows if not r.reversed], "letters"),
        (limits.letters_reversed, [r for r in rows if r.reversed], "letters left open in a solid"),
    ):
        if chosen:
            yield from _smallest_letters(min(chosen, key=_height), sized, limit, words)


def _height(row: LetterRow) -> float:
    return row.height_px


def type_size_pt(height_px: float, sized: Sized) -> float:
    """Type size whose capitals are as tall as these letters."""
    return sized.pt(height_px) / CAP_HEIGHT_OF_TYPE_SIZE


def _smallest_letters(row: LetterRow, sized: Sized, limit: Limit, words: str) -> Iterator[Finding]:
    size = type_size_pt(row.height_px, sized)
    severity = severity_below(size, limit)
    if severity is None:
        return
    yield Finding(
        id="letters-reversed-small" if row.reversed else "letters-small",
        severity=severity,
        text=f"The smallest {words} are about {size:.1f} pt type; plan for {limit.change:g} pt.",
        evidence=against(size, limit, threshold_of(severity, limit), row.where),
        change=f"set the smallest {words} in {limit.change:g} pt or leave them out",
        message=f"The smallest text is about {size:.0f} pt and may not be readable in print.",
    )


def specks(sized: Sized, limits: Limits) -> Iterator[Finding]:
    """Separate dots too small to hold; a halftone's dots are no specks."""
    small = speck_places(sized, limits)
    if not small:
        return
    smallest = min(sized.pt(part.size_px) for part in sized.measured.detail.small_parts)
    count = "1 dot is" if len(small) == 1 else f"{len(small)} dots are"
    yield Finding(
        id="specks",
        severity="change",
        text=f"{count} smaller than {limits.speck.change:g} pt and will not hold.",
        evidence=against(smallest, limits.speck, limits.speck.change, small[0]),
        change="remove the specks or make them larger",
    )


def speck_places(sized: Sized, limits: Limits) -> tuple[Box, ...]:
    """Places of separate parts under the limit; none in a photograph or a halftone."""
    measured = sized.measured
    if measured.tone.halftone or measured.tone.kind == "photo":
        return ()
    return tuple(
        part.where
        for part in measured.detail.small_parts
        if sized.pt(part.size_px) < limits.speck.change
    )


# --- tone ---------------------------------------------------------------------------------------


def tone(sized: Sized, limits: Limits, method: Method) -> Iterator[Finding]:
    """Fades and photographs on methods that print solid inks; screens that the art carries."""
    measured = sized.measured.tone
    if measured.kind == "photo" and not method.photos:
        yield _photograph(measured.photo_share, limits.photo_share, method)
    elif measured.gradient_share >= limits.fade_share.change and method.fades != "yes":
        where = measured.fade_places[0] if measured.fade_places else None
        yield _fade(measured.gradient_share, limits.fade_share, method, where)
    for screen in measured.halftone or ():
        lpi = sized.ppi / screen.period_px
        yield Finding(
            id="halftone-in-art",
            severity="note",
            text=(
                f"The art already carries a screen of {lpi:.0f} lpi at {screen.angle_deg:.1f}"
                " degrees: its dots are the ink. Do not screen it again."
            ),
            evidence=fact(round(lpi, 1), "lpi", "measured in the file").model_copy(
                update={"where": screen.where}
            ),
        )


def _photograph(share: float, limit: Limit, method: Method) -> Finding:
    return Finding(
        id="photo-on-spot",
        severity="stop",
        curable=False,
        text=f"{share:.0%} of the art is a photograph: {method.name.lower()} cannot hold it.",
        evidence=against(share, limit, limit.change),
        change="print it full colour, or have a halftone version made",
    )


def _fade(share: float, limit: Limit, method: Method, where: Box | None) -> Finding:
    ways = (
        f"flatten the fade to its end inks, or print it as a {method.halftone_lpi:g} lpi halftone"
        if method.fades == "halftone" and method.halftone_lpi
        else "flatten the fade to its end inks"
    )
    return Finding(
        id="fade-on-spot",
        severity="change",
        text=f"{share:.0%} of the ink is a fade: {method.name.lower()} print solid inks.",
        evidence=against(share, limit, limit.change, where),
        change=ways,
        message="The colour fade in your art will be printed in flat steps or as fine dots.",
    )


# --- edges and solids ---------------------------------------------------------------------------


def soft_edges(sized: Sized, limits: Limits, method: Method) -> Iterator[Finding]:
    """Partly transparent pixels where every inked pixel gets white under it."""
    edges = sized.measured.edges
    if method.part_transparent or method.family != "full_colour":
        return
    width = edges.soft_width_px * REFERENCE_PPI / sized.ppi
    if edges.soft_share < limits.soft_share.change or width <= limits.soft_rim_width.change:
        return
    stop = limits.soft_rim_width.stop
    wide = stop is not None and width > stop
    yield Finding(
        id="soft-edges",
        severity="change",
        text=(
            f"{edges.soft_share:.0%} of the outline is partly transparent, {width:.0f} px wide at"
            f" 300 dpi: white shows through as {'a halo' if wide else 'a fringe'}."
        ),
        evidence=against(
            width,
            limits.soft_rim_width,
            stop if wide else limits.soft_rim_width.change,
            edges.places[0] if edges.places else None,
        ),
        change="cut the edge hard, or turn the glow into a halftone that fades to the garment",
        message="Soft glows and shadows need a hard edge or fine dots to print cleanly on fabric.",
    )


def solid(sized: Sized, limits: Limits, method: Method) -> Iterator[Finding]:
    """Large connected film is stiff and does not breathe."""
    if method.family not in ("full_colour", "cut_film"):
        return
    area = sized.in2(sized.measured.area.largest_solid_px)
    limit = limits.solid_film
    if area <= limit.change:
        return
    yield Finding(
        id="solid-large",
        severity="note",
        text=f"{area:.0f} in² of film in one piece: stiff to wear and does not breathe.",
        evidence=against(area, limit, limit.change, sized.measured.area.largest_solid_box),
        change="open the solid with knocked-out texture, or print it in spot inks",
        message="The print is one large solid area and will feel stiff on the garment.",
    )


def reading_notes(sized: Sized) -> Iterator[Finding]:
    """What opening the file met."""
    for note in sized.measured.notes:
        if note.id == "enclosed-paper":
            continue  # what it means depends on the garment
        yield Finding(
            id=note.id,
            severity=NOTE_SEVERITY.get(note.id, "note"),
            text=note.text,
            evidence=fact(None, "", "met while reading the file"),
        )
    matte = sized.measured.edges.matte_hex
    if matte is not None:
        yield Finding(
            id="matte-in-edges",
            severity="change",
            text=f"The edges carry {matte} of an earlier background: a rim of it will show.",
            evidence=fact(matte, "colour", "measured in the file"),
            change="take the old background colour out of the edge pixels",
        )


def enclosed_paper(case: Case) -> Iterator[Finding]:
    """White shapes inside the art are read as open: on a dark garment they print dark."""
    note = next((n for n in case.sized.measured.notes if n.id == "enclosed-paper"), None)
    if note is None:
        return
    garment = case.cloth.colour
    limit = case.limits.contrast
    if garment is None or PAPER_LIGHTNESS - garment[0] < limit.change:
        yield Finding(
            id=note.id,
            severity="note",
            text=note.text,
            evidence=fact(None, "", "met while reading the file"),
        )
        return
    name = case.cloth.colour_name or "the garment"
    yield Finding(
        id=note.id,
        severity="change",
        text=f"{note.text} On {name} it would not be light any more.",
        evidence=against(PAPER_LIGHTNESS - garment[0], limit, limit.change),
        change="ask the customer; if it is meant white, print white ink there (one ink more)",
        message=(
            f"Your art has white areas on a white page. On {name} garments they will show {name}"
            " unless we print them white. Which shall it be?"
        ),
    )


PAPER_LIGHTNESS = 100.0
"""L* of a screen's white, as which the file shows its open areas."""

NOTE_SEVERITY: dict[str, Severity] = {
    "drawn-transparency": "change",
    "missing-font": "change",
    "parts-not-drawn": "change",
    "spot-channels-left-out": "change",
    "white-box": "change",
}
"""Reading notes that ask for a change; all others are for knowing."""
