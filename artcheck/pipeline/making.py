"""Plates or film of one print by one method, for a job of its own as for a gang."""

from __future__ import annotations

from functools import partial

from artcheck.domain.separation import InkPlan, Separated
from artcheck.errors import UsageError
from artcheck.judge import line_limit
from artcheck.pipeline.methods import UNDERBASE_BELOW_L
from artcheck.pipeline.work import Work
from artcheck.separation.cleaning import Holds
from artcheck.separation.film import Film, FilmSettings, make_film
from artcheck.separation.halftone import screen
from artcheck.separation.plates import Plates, PlateSettings, Screen, make_plates


def separated_into(work: Work, plan: InkPlan) -> Separated:
    """The art in the inks of a plan, as the method holds it.

    Raises
    ------
    UsageError
        The art has no ink.
    """
    from artcheck.separation.regions import separate_regions

    garment = work.setting.garment
    return separate_regions(
        work.cutout,
        plan,
        ppi=work.method.output_ppi,
        width_in=work.setting.sized.width_in,
        garment_lab=garment.lab if garment else None,
        knock_out_within=work.setting.shop.limits.garment_match.change,
        all_seen=len(work.setting.print_.inks) == 1,
        fades=work.fades,
        dots=screen_of(work) is not None,
        holds=_holds(work),
    )


def _holds(work: Work) -> Holds | None:
    """What the method holds; None for art that carries a screen: its dots are no specks.

    Knives cut wider lines than screens print: widening so far would change the design, so those
    are told only.
    """
    if work.measured.tone.halftone:
        return None
    limits = work.setting.shop.limits
    line, gap = line_limit(work.method, limits), limits.gap_spot
    return Holds(
        speck_pt=limits.speck.change,
        line_pt=line.change,
        gap_pt=gap.change,
        open_pt=gap.change if gap.stop is None else gap.stop,
        mend=work.method.family != "cut_film",
    )


def screen_of(work: Work) -> Screen | None:
    """How tints become dots; None where fades are flattened, or the method prints none.

    Raises
    ------
    UsageError
        Dots are asked for, and the method prints none.
    """
    method, wanted = work.method, work.options.fades
    lpi = method.halftone_lpi if method.fades == "halftone" else None
    if lpi is None and wanted == "halftone":
        raise UsageError(
            f"{method.name} prints no halftones. Leave --halftone-fades out, or set fades ="
            ' "halftone" and halftone_lpi for it in the shop file.'
        )
    if lpi is None or wanted == "flat":
        return None
    return partial(
        screen,
        ppi=method.output_ppi,
        lpi=lpi,
        angle_deg=method.halftone_angle_deg,
        gain_at_50=method.halftone_gain_at_50,
        shape=method.halftone_shape,
    )


def trapped_plates(work: Work, separated: Separated) -> Plates:
    """What each screen prints: trapped, screened, with white under it where that is wanted.

    Raises
    ------
    NothingToPrintError
        No ink prints anywhere.
    """
    return make_plates(separated, _plate_settings(work))


def _plate_settings(work: Work) -> PlateSettings:
    method, garment, trap_pt = work.method, work.setting.garment, work.options.trap_pt
    dark = garment is not None and garment.lab[0] < UNDERBASE_BELOW_L
    return PlateSettings(
        trap_pt=method.trap_pt if trap_pt is None else trap_pt,
        choke_pt=method.choke_pt,
        white_under=dark and not method.opaque,
        screen=screen_of(work),
    )


def film_of(work: Work) -> Film:
    """The art as a film printer takes it.

    Raises
    ------
    UsageError
        An unknown garment is to be left open.
    NothingToPrintError
        Nothing is left of it.
    """
    garment, shop = work.setting.garment, work.setting.shop
    knocked = work.options.knock_out_garment
    if knocked and garment is None:
        raise UsageError("Which garment is left open? Add --garment-colour.")
    return make_film(
        work.cutout,
        FilmSettings(
            ppi=work.method.output_ppi,
            width_in=work.setting.sized.width_in,
            choke_pt=work.method.choke_pt,
            edges=work.options.film_edges,
            matte_hex=work.measured.edges.matte_hex,
            knock_out=garment.lab if knocked and garment else None,
            knock_out_within=shop.limits.garment_match.change,
        ),
    )
