"""Example reports of an invented print room, written by hand: what `artcheck.report` reads.

The figures follow the shop's invented price list (sheets of 12 x 15 in, margin one half).
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from artcheck.domain.artwork import Background
from artcheck.domain.base import Box, Lab
from artcheck.domain.check import (
    Alternative,
    ArtworkReport,
    BrandColourReport,
    ContrastReport,
    CostLine,
    CostReport,
    DetailReport,
    EdgesReport,
    Flip,
    GarmentReport,
    GroupReport,
    InkReport,
    InksReport,
    LadderInk,
    LadderRung,
    MethodReport,
    OrderReport,
    PressReport,
    PrintedReport,
    QuoteReport,
    Recommendation,
    Report,
    ResolutionReport,
    StockMatch,
    ToneReport,
)
from artcheck.domain.findings import Evidence, Finding, Severity, Verdict, verdict_of

SPOT, AREA, ROLL, CUT = "Spot transfers", "Film by area", "Film by the roll", "Cut film"
CAUTIONS = (
    "The platens burn at once: keep hands clear.",
    "Press one, let it cool and look before the run.",
    "These settings are starting points: the makers' sheets come first.",
)
SPOT_PRESS = PressReport(
    temperature_f=375,
    seconds=12,
    pressure="medium-firm",
    peel="as the maker says",
    cautions=CAUTIONS,
)
FILM_PRESS = PressReport(
    temperature_f=305, seconds=14, pressure="medium", peel="as the maker says", cautions=CAUTIONS
)


def finding(
    name: str,
    severity: Severity,
    text: str,
    *,
    measured: float | str | None = None,
    limit: float | str | None = None,
    unit: str = "",
    source: str = "common practice",
    where: Box | None = None,
    **more: Any,
) -> Finding:
    evidence = Evidence(measured=measured, limit=limit, unit=unit, limit_source=source, where=where)
    return Finding(id=name, severity=severity, text=text, evidence=evidence, **more)


def cost(
    pieces: int,
    decoration: str,
    total: str,
    *,
    prints: int,
    copies: int | None = None,
    sheets: tuple[int, int] | None = None,
    lines: tuple[tuple[str, str, str, str], ...] = (),
    notes: tuple[str, ...] = (),
) -> CostReport:
    """A price of twice the total: the invented shop's margin is one half."""
    price = 2 * Decimal(total)
    cents = Decimal("0.01")
    return CostReport(
        currency="USD",
        pieces=pieces,
        prints=prints,
        copies_per_sheet=copies,
        sheets_needed=sheets[0] if sheets else None,
        sheets_bought=sheets[1] if sheets else None,
        decoration=Decimal(decoration),
        total=Decimal(total),
        per_piece=(Decimal(total) / pieces).quantize(cents),
        price_total=price,
        price_per_piece=(price / pieces).quantize(cents),
        lines=tuple(
            CostLine(what=w, quantity=Decimal(q), unit_amount=Decimal(u), amount=Decimal(a))
            for w, q, u, a in lines
        ),
        notes=notes,
    )


def method(
    name: str,
    findings: tuple[Finding, ...] = (),
    priced: CostReport | None = None,
    *,
    inks: int | None = None,
    verdict: Verdict | None = None,
) -> MethodReport:
    ids = {SPOT: "spot", AREA: "film-area", ROLL: "film-roll", CUT: "cut-film"}
    families = {SPOT: "spot", AREA: "full_colour", ROLL: "full_colour", CUT: "cut_film"}
    return MethodReport(
        id=ids[name],
        name=name,
        family=families[name],
        verdict=verdict or verdict_of(findings),
        recommendable=name != ROLL,
        inks=inks,
        findings=findings,
        cost=priced,
        press=SPOT_PRESS if name == SPOT else FILM_PRESS,
    )


def ink(
    name: str, hex_text: str, lab: Lab, share: float, area_in2: float, **more: Any
) -> InkReport:
    given = {"is_garment": False, "stock": StockMatch(name=name, delta_e_2000=0.5), **more}
    return InkReport(name=name, hex=hex_text, lab=lab, share=share, area_in2=area_in2, **given)


def tone(kind: str = "flat", gradient: float = 0.0, photo: float = 0.0) -> ToneReport:
    return ToneReport.model_validate(
        {"class": kind, "gradient_share": gradient, "photo_share": photo, "halftone": None}
    )


def report(**given: Any) -> Report:
    """A report with plain values wherever none is given."""
    plain: dict[str, Any] = {
        "artcheck_version": "0.1.0",
        "shop": "Brindlefenn Print Room",
        "demo_prices": True,
        "background": Background(
            kind="transparent", hex=None, reason="the file is transparent around the art"
        ),
        "tone": tone(),
        "groups": (),
        "edges": EdgesReport(soft_share=0.0, soft_width_pt=0.0),
        "contrast": (),
        "brand_colours": (),
        "ink_ladder": (),
        "questions": ("Please confirm that you may use this art.",),
        "messages": (),
    }
    return Report(**plain | given)


# --- the bakery: a close call -------------------------------------------------------------------


def bakery() -> Report:
    """30 brown tees, left chest, one white ink: film by area, spot from 67 pieces."""
    wide = finding(
        "placement-wide",
        "note",
        "4.25 in is wide for a left chest print: 3.5 in is usual (2.4 to 4).",
        measured=1.214,
        limit=1.15,
        unit="times the usual width",
        message="For a left chest print 3.5 in is usual; yours is 4.25 in. Is that what you want?",
    )
    gap = finding(
        "gap-narrow",
        "change",
        "The narrowest gap is 1.16 pt; under 2 pt it fills in.",
        measured=1.161,
        limit=2.0,
        unit="pt",
        source="common practice, others say 1 to 3 pt",
        where=(625, 209, 648, 221),
        change="open gaps under 2 pt, or print larger (about 15 min of art, 10.00 USD)",
    )
    thin = finding(
        "line-thin",
        "stop",
        "The thinnest line is 1.68 pt; cut film holds 2.8.",
        measured=1.68,
        limit=2.8,
        unit="pt",
        where=(39, 614, 48, 661),
        curable=False,
    )
    blanks = ("tee blanks", "31", "4.00", "124.00")
    labour = ("press labour", "31", "0.40", "12.40")
    spot = cost(
        30,
        "50.00",
        "196.40",
        prints=31,
        copies=6,
        sheets=(6, 10),
        lines=(
            ("sheets 12 x 15 in, 1 ink", "10", "4.00", "40.00"),
            ("set-up per ink", "1", "10.00", "10.00"),
            ("freight, transfer printer", "1", "10.00", "10.00"),
            labour,
            blanks,
        ),
        notes=("29 spare transfers come with the sheets, good for a reorder",),
    )
    area = cost(
        30,
        "26.35",
        "172.75",
        prints=31,
        lines=(
            ("prints of 4.25 x 4 in", "31", "0.85", "26.35"),
            ("freight, film printer", "1", "10.00", "10.00"),
            labour,
            blanks,
        ),
    )
    return report(
        artwork=ArtworkReport(
            file="2-bakery.png",
            kind="raster",
            pixels=(1275, 1200),
            has_alpha=True,
            profile=None,
            declared_inks=(),
        ),
        garment=GarmentReport(
            kind="tee",
            colour="brown",
            hex="#5a3a22",
            fabric="cotton",
            pieces=30,
            placement="left chest",
        ),
        printed=PrintedReport(
            width_in=4.25, height_in=4.0, box_area_in2=17.0, ink_area_in2=3.848, coverage=0.2264
        ),
        inks=InksReport(
            count=1,
            count_without_white=0,
            also_plausible=(),
            list=(ink("Snow", "#eff1f4", (95.06, -0.29, -1.7), 1.0, 3.848),),
        ),
        detail=DetailReport(
            thinnest_line_pt=1.68, narrowest_gap_pt=1.161, specks=0, smallest_letters_pt=33.6
        ),
        resolution=ResolutionReport(effective_dpi=300, true_dpi=300, largest_width_in=4.25),
        contrast=(
            ContrastReport(
                ink="Snow",
                garment="brown",
                delta_l=67.2,
                contrast_ratio=8.9,
                delta_e_2000=52.0,
                verdict="clear",
            ),
        ),
        methods=(
            method(SPOT, (gap, wide), spot, inks=1),
            method(AREA, (wide,), area),
            method(ROLL, (wide,), cost(30, "27.00", "173.40", prints=31)),
            method(CUT, (thin, gap, wide), cost(30, "46.81", "183.21", prints=31), inks=1),
        ),
        recommendation=Recommendation(
            method="film-area",
            headline="Film by area: 345.50 USD for 30 pieces (11.52 each).",
            reasons=(
                "The transfers cost 26.35; spot transfers cost 50.00 (6 sheets needed, 10 to buy).",
            ),
            alternatives=(
                Alternative(method="spot", why_not="It costs 23.65 USD more in all."),
                Alternative(method="film-roll", why_not="Priced for comparison only."),
                Alternative(
                    method="cut-film", why_not="The thinnest line is 1.68 pt; cut film holds 2.8."
                ),
            ),
            flips=flips(
                (1, "film-area"),
                (57, "spot"),
                (59, "film-area"),
                (62, "spot"),
                (65, "film-area"),
                (67, "spot"),
            ),
            close_call=(57, 66),
            stable_from_quantity=67,
            would_change_it=("From 67 pieces spot transfers are the cheapest.",),
        ),
        messages=(
            "For a left chest print 3.5 in is usual; yours is 4.25 in. Is that what you want?",
        ),
    )


def flips(*starts: tuple[int, str]) -> tuple[Flip, ...]:
    """Flips from where each begins; the last reaches as far as quantities are looked at."""
    ends = [start - 1 for start, _ in starts[1:]] + [10_000]
    return tuple(
        Flip(from_quantity=start, to_quantity=end, method=name)
        for (start, name), end in zip(starts, ends, strict=True)
    )


# --- the wheelers: an ink nobody can read -------------------------------------------------------


def wheelers() -> Report:
    """54 grey tees, full front, silver on grey: spot, but stop on contrast."""
    unreadable = finding(
        "contrast-unreadable",
        "stop",
        "Pewter on athletic grey: L* differs by only 10 (contrast ratio 1.4), it cannot be read.",
        measured=10.4,
        limit=20.0,
        unit="L* difference",
        change="print it in Coal or Midnight, or choose another garment colour",
        message="Pewter will hardly show on athletic grey. May we use a darker ink?",
    )
    return report(
        artwork=ArtworkReport(
            file="3-wheelers.pdf",
            kind="vector",
            pixels=(2400, 2200),
            has_alpha=True,
            profile=None,
            declared_inks=("Silver",),
        ),
        garment=GarmentReport(
            kind="tee",
            colour="athletic grey",
            hex="#aeb2b5",
            fabric="cotton",
            pieces=54,
            placement="front",
        ),
        printed=PrintedReport(
            width_in=12.0, height_in=11.0, box_area_in2=132.0, ink_area_in2=24.3, coverage=0.184
        ),
        inks=InksReport(
            count=1,
            count_without_white=1,
            also_plausible=(),
            list=(ink("Pewter", "#959599", (61.9, 0.6, -2.2), 1.0, 24.3),),
        ),
        detail=DetailReport(
            thinnest_line_pt=2.59, narrowest_gap_pt=12.0, specks=0, smallest_letters_pt=89.7
        ),
        resolution=None,
        contrast=(
            ContrastReport(
                ink="Pewter",
                garment="athletic grey",
                delta_l=10.4,
                contrast_ratio=1.37,
                delta_e_2000=52.0,
                verdict="unreadable",
            ),
        ),
        methods=(
            method(
                SPOT,
                (unreadable,),
                cost(54, "122.00", "378.40", prints=56, copies=1, sheets=(56, 56)),
                inks=1,
            ),
            method(AREA, (unreadable,), cost(54, "369.60", "626.00", prints=56)),
        ),
        recommendation=Recommendation(
            method="spot",
            headline=(
                "Spot transfers: 756.80 USD for 54 pieces (14.01 each). But first: Pewter on"
                " athletic grey cannot be read."
            ),
            reasons=("The transfers cost 122.00; film by area costs 369.60.",),
            alternatives=(
                Alternative(method="film-area", why_not="It costs 247.60 USD more in all."),
            ),
            flips=flips((1, "film-area"), (7, "spot")),
            close_call=None,
            stable_from_quantity=7,
            would_change_it=("Up to 6 pieces film by area is the cheapest.",),
        ),
        messages=("Pewter will hardly show on athletic grey. May we use a darker ink?",),
    )


# --- the candleworks: colours that decide -------------------------------------------------------

CONDITION = "offset on coated paper, a stand-in for a film printer nobody has measured"


def candleworks() -> Report:
    """34 natural hoodies in two exact colours: both mixed, though film is cheaper."""
    orange = brand("ember orange", (65, 60, 78), (62.1, 54.2, 66.0), 6.7, ("Tangerine", 3.3))
    violet = brand(
        "dusk violet",
        (30, 48, -62),
        (32.0, 30.1, -40.2),
        7.7,
        ("Plum", 9.5),
        like_hue_lab=(31.0, 34.0, -45.0),
        like_hue_delta_e_2000=8.4,
    )
    out = tuple(
        finding(
            "brand-colour-out-of-reach",
            "stop",
            f"{b.name} cannot be held in CMYK print: the nearest is {b.delta_e_2000} dE00 away.",
            measured=b.delta_e_2000,
            limit=5.0,
            unit="dE00",
            curable=False,
            change="print it in a spot ink",
        )
        for b in (orange, violet)
    )
    mixed = finding(
        "brand-colour-mixed",
        "note",
        "ember orange and dusk violet are mixed to order, exact within the printer's tolerance.",
        measured=9.5,
        limit=2.0,
        unit="dE00",
    )
    return report(
        artwork=ArtworkReport(
            file="4-candleworks.jpg",
            kind="raster",
            pixels=(2900, 2150),
            has_alpha=False,
            profile="sRGB",
            declared_inks=(),
        ),
        garment=GarmentReport(
            kind="hoodie",
            colour="natural",
            hex="#e7e1d2",
            fabric="cotton",
            pieces=34,
            placement="front",
        ),
        background=Background(
            kind="removed", hex="#ffffff", reason="paper of #ffffff removed around the art"
        ),
        printed=PrintedReport(
            width_in=9.0, height_in=6.5, box_area_in2=58.5, ink_area_in2=11.3, coverage=0.193
        ),
        inks=InksReport(
            count=2,
            count_without_white=2,
            also_plausible=(3,),
            list=(
                ink(
                    "dusk violet",
                    "#6123aa",
                    (30.1, 47.8, -61.7),
                    0.705,
                    8.0,
                    stock=StockMatch(name="Plum", delta_e_2000=9.3),
                    plan="mixed",
                ),
                ink(
                    "ember orange",
                    "#ff6801",
                    (63.2, 56.0, 73.4),
                    0.295,
                    3.3,
                    stock=StockMatch(name="Tangerine", delta_e_2000=2.7),
                    plan="mixed",
                ),
            ),
        ),
        detail=DetailReport(
            thinnest_line_pt=3.84, narrowest_gap_pt=2.39, specks=0, smallest_letters_pt=43.8
        ),
        resolution=ResolutionReport(effective_dpi=300, true_dpi=300, largest_width_in=9.0),
        edges=EdgesReport(soft_share=0.036, soft_width_pt=0.9),
        contrast=(
            ContrastReport(
                ink="dusk violet",
                garment="natural",
                delta_l=60.0,
                contrast_ratio=7.2,
                delta_e_2000=52.0,
                verdict="clear",
            ),
            ContrastReport(
                ink="ember orange",
                garment="natural",
                delta_l=26.5,
                contrast_ratio=2.2,
                delta_e_2000=52.0,
                verdict="weak",
            ),
        ),
        brand_colours=(orange, violet),
        methods=(
            method(
                SPOT,
                (mixed,),
                cost(34, "160.00", "724.40", prints=36, copies=2, sheets=(18, 20)),
                inks=2,
            ),
            method(AREA, out, cost(34, "105.48", "669.88", prints=36)),
        ),
        recommendation=Recommendation(
            method="spot",
            headline="Spot transfers: 1448.80 USD for 34 pieces (42.61 each).",
            reasons=(
                "Film by area cannot hold ember orange and dusk violet, and they are critical.",
                "20 sheets cost 90.00 and 18 cost 108.00: buy 20, save 18.00.",
            ),
            alternatives=(
                Alternative(method="film-area", why_not="It cannot hold the critical colours."),
            ),
            flips=flips((1, "spot")),
            close_call=None,
            stable_from_quantity=1,
            would_change_it=("If both colours may be close: film by area, 54.52 less in cost.",),
        ),
        ink_ladder=(
            LadderRung(
                inks=1,
                mean_delta_e_2000=12.3,
                p95_delta_e_2000=24.0,
                worst_region_delta_e_2000=24.5,
                method="spot",
                total=Decimal("610.40"),
                per_piece=Decimal("17.95"),
                palette=(LadderInk(name="Tangerine", hex="#ff6d23", stock=True),),
            ),
            LadderRung(
                inks=2,
                mean_delta_e_2000=0.4,
                p95_delta_e_2000=1.1,
                worst_region_delta_e_2000=1.8,
                method="spot",
                total=Decimal("724.40"),
                per_piece=Decimal("21.31"),
                palette=(
                    LadderInk(name="ember orange", hex="#ff6700", stock=False),
                    LadderInk(name="dusk violet", hex="#6023aa", stock=False),
                ),
                recommended=True,
                reason="2 inks: one ink less is off by 12.3 dE00 on average and 24.5 at worst.",
            ),
        ),
    )


def brand(
    name: str,
    target: Lab,
    reachable: Lab,
    off: float,
    near: tuple[str, float],
    **more: Any,
) -> BrandColourReport:
    given: dict[str, Any] = {
        "like_hue_lab": None,
        "like_hue_delta_e_2000": None,
        "verdict": "another colour",
        "found_in_art": True,
        "art_delta_e_2000": 1.8,
        "critical": True,
        "plan": "mixed",
    }
    return BrandColourReport(
        name=name,
        target_lab=target,
        reachable_lab=reachable,
        delta_e_2000=off,
        print_condition=CONDITION,
        nearest_ink=StockMatch(name=near[0], delta_e_2000=near[1]),
        **given | more,
    )


# --- the ferry: nothing suits -------------------------------------------------------------------


def ferry() -> Report:
    """200 polypropylene totes: no heat press may touch them."""

    def refused(name: str, degrees: int) -> Finding:
        return finding(
            "fabric-refused",
            "stop",
            f"Do not press polypropylene: {name.lower()} need {degrees} F.",
            measured=float(degrees),
            limit=248.0,
            unit="degrees F",
            source="a handbook on plastics",
            curable=False,
            message="Polypropylene melts in the heat press. We suggest cotton instead.",
        )

    return report(
        artwork=ArtworkReport(
            file="7-ferry.svg",
            kind="vector",
            pixels=(2100, 2100),
            has_alpha=True,
            profile=None,
            declared_inks=(),
        ),
        garment=GarmentReport(
            kind="tote",
            colour="natural",
            hex="#e7e1d2",
            fabric="non-woven polypropylene",
            pieces=200,
            placement="tote",
        ),
        printed=PrintedReport(
            width_in=7.0, height_in=7.0, box_area_in2=49.0, ink_area_in2=14.3, coverage=0.292
        ),
        inks=InksReport(
            count=1,
            count_without_white=1,
            also_plausible=(),
            list=(
                ink(
                    "Lagoon",
                    "#008d8f",
                    (52.6, -32.4, -10.9),
                    1.0,
                    14.3,
                    stock=StockMatch(name="Lagoon", delta_e_2000=2.5),
                ),
            ),
        ),
        detail=DetailReport(thinnest_line_pt=3.1, narrowest_gap_pt=2.4, specks=0),
        resolution=None,
        contrast=(
            ContrastReport(
                ink="Lagoon",
                garment="natural",
                delta_l=37.4,
                contrast_ratio=3.2,
                delta_e_2000=52.0,
                verdict="weak",
            ),
        ),
        methods=(
            method(
                SPOT,
                (refused(SPOT, 375),),
                cost(200, "164.50", "256.90", prints=206, copies=2, sheets=(103, 103)),
                inks=1,
            ),
            method(AREA, (refused(AREA, 305),), cost(200, "504.70", "597.10", prints=206)),
        ),
        recommendation=Recommendation(
            method=None,
            headline="No method on hand suits this order. Do not press polypropylene.",
            reasons=("Polypropylene is damaged from about 248 F; every press is hotter.",),
            alternatives=(
                Alternative(method="spot", why_not="Do not press polypropylene."),
                Alternative(method="film-area", why_not="Do not press polypropylene."),
            ),
            flips=(),
            close_call=None,
            stable_from_quantity=None,
            would_change_it=("On cotton totes: spot transfers at 1337.80 USD (6.69 each).",),
        ),
        messages=("Polypropylene melts in the heat press. We suggest cotton instead.",),
    )


# --- others -------------------------------------------------------------------------------------


def sponsors() -> Report:
    """A page of three designs, one of them from a small picture."""
    groups = tuple(
        GroupReport(
            where=(0, 400 * n, 300, 400 * n + 300),
            inks=1,
            true_dpi=dpi,
            effective_dpi=300.0,
            thinnest_line_pt=1.4,
            narrowest_gap_pt=None,
        )
        for n, dpi in enumerate((300.0, 100.0, 300.0))
    )
    return bakery().model_copy(update={"groups": groups})


def photograph() -> Report:
    """Art without an ink count."""
    none = InksReport(count=None, count_without_white=None, also_plausible=(), list=())
    return bakery().model_copy(
        update={"inks": none, "tone": tone("photo", photo=0.58), "contrast": ()}
    )


def order() -> OrderReport:
    """Two prints on one order, quoted together."""
    quote = QuoteReport(
        currency="USD",
        pieces=30,
        decoration=Decimal("52.70"),
        cost=Decimal("229.40"),
        price=Decimal("458.80"),
        price_per_piece=Decimal("15.29"),
        lines=(
            CostLine(
                what="2-bakery: prints of 4.25 x 4 in",
                quantity=Decimal(31),
                unit_amount=Decimal("0.85"),
                amount=Decimal("26.35"),
            ),
        ),
        notes=("Tax is not included.",),
    )
    return OrderReport(
        artcheck_version="0.1.0",
        order="Copperhen Bakery",
        names=("2-bakery.png", "3-wheelers.pdf"),
        prints=(bakery(), wheelers()),
        quote=quote,
    )


EXAMPLES = {
    "bakery": bakery,
    "wheelers": wheelers,
    "candleworks": candleworks,
    "ferry": ferry,
    "sponsors": sponsors,
    "photograph": photograph,
}

HOSTILE_NAME = "a[bold red]b[/]\n\x1b[31mc\u202egpj.\ud800<script>alert(1)</script>&'\".png"
"""Markup of rich and of HTML, a line end, a control, a direction mark, half a pair."""


def hostile() -> Report:
    """The bakery under a name that tries everything."""
    calm = bakery()
    artwork = calm.artwork.model_copy(
        update={"file": HOSTILE_NAME, "declared_inks": (HOSTILE_NAME,)}
    )
    return calm.model_copy(update={"artwork": artwork, "questions": (HOSTILE_NAME,)})
