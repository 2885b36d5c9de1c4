"""The proof: what all plates print together, in fewer pixels."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from artcheck.colour.spaces import hex_to_srgb8
from artcheck.domain.separation import NO_INK
from artcheck.separation.plates import PlateSettings, make_plates
from artcheck.separation.proof import proof_of
from tests.separation.drawings import ink, separated, shapes

UNTRAPPED = PlateSettings()


def shown_together(one: tuple[int, int, int], other: tuple[int, int, int]) -> NDArray[np.float64]:
    """sRGB codes of half of each: shares of area add up as light (IEC 61966-2-1 both ways)."""
    codes = np.array([one, other]) / 255
    light = np.where(codes <= 0.04045, codes / 12.92, ((codes + 0.055) / 1.055) ** 2.4)
    mean = light.mean(axis=0)
    return np.asarray(
        255 * np.where(mean <= 0.0031308, 12.92 * mean, 1.055 * mean ** (1 / 2.4) - 0.055)
    )


@pytest.mark.parametrize("size", [(220, 300), (221, 303)])
def test_inked_area_is_that_of_the_plates(size: tuple[int, int]) -> None:
    plates = make_plates(separated(shapes(*size), ppi=600), UNTRAPPED)
    proof = proof_of(plates)
    assert proof.ppi == 300
    assert proof.coverage.shape == ((size[0] + 1) // 2, (size[1] + 1) // 2)
    inked = np.logical_or.reduce([plate.mask for plate in plates.plates])
    # Four pixels make one, whose share is rounded to 1/255.
    assert proof.coverage.sum() / 255 == pytest.approx(inked.sum() / 4, rel=1e-3)


def test_colours_are_the_inks_own_and_the_last_printed_covers() -> None:
    labels = shapes(220, 300)
    plates = make_plates(separated(labels, ppi=300), PlateSettings(trap_pt=1))
    proof = proof_of(plates)
    for label, name in enumerate(("Poppy", "Royal", "Lemon", "Coal")):
        assert (proof.rgb[labels == label] == hex_to_srgb8(ink(name).hex)).all()
    assert not proof.coverage[labels == 255].any()
    garment = proof.on("#102030")
    assert (garment[labels == 255] == (16, 32, 48)).all()
    assert np.array_equal(garment[labels != 255], proof.rgb[labels != 255])


def test_white_under_the_inks_is_not_seen() -> None:
    drawing = separated(shapes(220, 300), ppi=300)
    with_white = make_plates(drawing, PlateSettings(white_under=True, choke_pt=0.5))
    assert with_white.plates[0].role == "underbase"
    without = proof_of(make_plates(drawing, UNTRAPPED))
    assert np.array_equal(proof_of(with_white).part, without.part)


def test_half_covered_pixels_show_half_of_the_garment() -> None:
    labels = np.full((4, 4), 255, np.uint8)
    labels[:, 1] = 3
    proof = proof_of(make_plates(separated(labels, ppi=600), UNTRAPPED))
    mixed = shown_together(hex_to_srgb8(ink("Coal").hex), (200, 100, 0))
    assert np.abs(proof.on("#c86400")[:, 0] - mixed).max() <= 1
    assert (proof.on("#c86400")[:, 1] == (200, 100, 0)).all()
    assert np.abs(proof.rgb[:, 0].astype(int) - hex_to_srgb8(ink("Coal").hex)).max() <= 1


def test_a_tint_is_shown_as_it_will_be_seen_and_not_in_dots() -> None:
    """Shares of area add up as light (the Murray-Davies relation, 1936)."""
    labels = np.zeros((64, 64), np.uint8)
    tint = np.full((64, 64), 128, np.uint8)
    plates = make_plates(
        separated(labels, ("Lemon", "Coal"), ppi=300, tints=(None, tint)),
        PlateSettings(screen=lambda wanted: wanted > 0),
    )
    proof = proof_of(plates)
    assert (proof.coverage == 255).all()
    codes = shown_together(*(hex_to_srgb8(ink(name).hex) for name in ("Lemon", "Coal")))
    assert np.abs(proof.rgb.reshape(-1, 3) - codes).max() <= 1.5


def test_a_tint_on_bare_cloth_covers_its_share() -> None:
    labels = np.full((64, 64), NO_INK, np.uint8)
    tint = np.full((64, 64), 64, np.uint8)
    plates = make_plates(
        separated(labels, ("Coal",), ppi=300, tints=(tint,)),
        PlateSettings(screen=lambda wanted: wanted > 0),
    )
    proof = proof_of(plates)
    assert np.abs(proof.coverage.astype(int) - 64).max() <= 1
    assert np.abs(proof.rgb.astype(int) - hex_to_srgb8(ink("Coal").hex)).max() <= 4
