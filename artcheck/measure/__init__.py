"""Pixels become `Measurements`."""

from __future__ import annotations

from artcheck.domain.artwork import Artwork
from artcheck.domain.measurements import Measurements

__all__ = ["measure"]


def measure(artwork: Artwork) -> Measurements:
    """Everything that the pixels say, in pixels and shares.

    Raises
    ------
    NothingToPrintError
        Nothing is covered.
    """
    from artcheck.measure.area import measure_area
    from artcheck.measure.detail import measure_detail
    from artcheck.measure.edges import measure_edges
    from artcheck.measure.groups import measure_groups
    from artcheck.measure.inks import count_inks
    from artcheck.measure.scan import Scan
    from artcheck.measure.sharpness import measure_sharpness
    from artcheck.measure.tone import measure_tone

    scan = Scan(artwork)
    area = measure_area(scan)
    tone = measure_tone(scan)
    inks = count_inks(scan, tone)
    return Measurements(
        file=artwork.name,
        digest=artwork.digest,
        kind=artwork.kind,
        pixels=artwork.source_size,
        has_alpha=artwork.had_alpha,
        profile=artwork.profile,
        resolution_ppi=artwork.resolution_ppi,
        declared_inks=artwork.declared_inks,
        vector=artwork.vector,
        background=artwork.background,
        notes=artwork.notes,
        area=area,
        inks=inks,
        tone=tone,
        detail=measure_detail(scan, inks=inks.inks),
        sharpness=measure_sharpness(scan),
        edges=measure_edges(scan),
        groups=() if tone.kind == "photo" else measure_groups(scan, inks.inks),
    )
