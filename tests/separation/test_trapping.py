"""Order of printing, traps and underbase, tried as a press tries them: by shifting plates."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from artcheck.domain.separation import NO_INK
from artcheck.errors import NothingToPrintError
from artcheck.imaging.discs import disc, grown, shrunk
from artcheck.separation.plates import Plates, PlateSettings, length_px, make_plates
from artcheck.separation.trapping import order_of_printing
from tests.separation.drawings import LABS, ink, random_labels, separated, shapes

Mask = NDArray[np.bool_]
EIGHT = [way for way in product((-1, 0, 1), repeat=2) if way != (0, 0)]
PPI = 300.0


def shifted(mask: Mask, rows: int, cols: int) -> Mask:
    """The plate moved; what comes in from outside is empty."""
    height, width = mask.shape
    moved = np.zeros_like(mask)
    moved[max(rows, 0) : height + min(rows, 0), max(cols, 0) : width + min(cols, 0)] = mask[
        max(-rows, 0) : height + min(-rows, 0), max(-cols, 0) : width + min(-cols, 0)
    ]
    return moved


def steps(length: float) -> list[tuple[int, int]]:
    """Shifts of at most that length in eight directions."""
    straight, slant = math.floor(length), math.floor(length / math.sqrt(2))
    return [
        (row * n, col * n) for row, col in EIGHT for n in [slant if row and col else straight] if n
    ]


def inks_of(plates: Plates) -> list[Mask]:
    return [plate.mask for plate in plates.plates if plate.role == "ink"]


def covered(masks: list[Mask]) -> Mask:
    return np.asarray(np.logical_or.reduce(masks), bool)


def gaps_after_shifts(labels: NDArray[np.uint8], plates: Plates, reach: float) -> int:
    """Pixels of garment that any shift of any plate opens between inks that touch.

    Pixels nearer than the shift to open garment are the print's outer edge, which moves with its
    plate; everything farther in must stay covered.
    """
    inside = shrunk(labels != NO_INK, reach)
    masks = inks_of(plates)
    opened = 0
    for index, (row, col) in product(range(len(masks)), steps(reach)):
        moved = [shifted(m, row, col) if i == index else m for i, m in enumerate(masks)]
        opened += int((inside & ~covered(moved)).sum())
    return opened


def test_light_inks_print_first() -> None:
    inks = [ink(name) for name in LABS]
    order = [inks[i].name for i in order_of_printing(inks)]
    assert order == ["Lemon", "Poppy", "Royal", "Coal"]
    plates = make_plates(separated(shapes()), PlateSettings(white_under=True, choke_pt=0.75))
    assert [plate.name for plate in plates.plates] == ["White underbase", *order]
    assert [plate.order for plate in plates.plates] == [1, 2, 3, 4, 5]


def test_lighter_ink_spreads_under_the_darker_by_the_trap() -> None:
    labels = np.zeros((40, 60), np.uint8)
    labels[:, 30:] = 1
    plates = make_plates(separated(labels, ("Lemon", "Coal"), ppi=288), PlateSettings(trap_pt=1.0))
    lemon, coal = (plate.mask for plate in plates.plates)
    assert coal.sum() == 40 * 30  # the darker keeps its edge: it is the edge one sees
    assert lemon[:, :34].all()  # 1 pt at 288 ppi is 4 px
    assert not lemon[:, 34:].any()


def test_no_trap_butts() -> None:
    labels = shapes()
    plates = make_plates(separated(labels), PlateSettings(trap_pt=0))
    total = sum(mask.astype(int) for mask in inks_of(plates))
    assert np.array_equal(total, (labels != NO_INK).astype(int))


def test_a_small_trap_is_one_pixel_at_least() -> None:
    labels = np.zeros((10, 20), np.uint8)
    labels[:, 10:] = 1
    settings_ = PlateSettings(trap_pt=0.1)
    plates = make_plates(separated(labels, ("Lemon", "Coal"), ppi=100), settings_)
    assert plates.plates[0].mask[:, 10].all()


def test_spread_stops_at_open_garment() -> None:
    """Two inks with two pixels of garment between: nothing to trap, no sliver under the other."""
    labels = np.full((20, 40), NO_INK, np.uint8)
    labels[5:15, 5:18] = 0
    labels[5:15, 20:35] = 1
    plates = make_plates(separated(labels, ("Lemon", "Coal")), PlateSettings(trap_pt=1.0))
    assert np.array_equal(plates.plates[0].mask, labels == 0)
    assert np.array_equal(plates.plates[1].mask, labels == 1)


def test_shifting_any_plate_by_the_trap_opens_no_gap() -> None:
    labels = shapes()
    trap_pt = 1.0
    reach = length_px(trap_pt, PPI)
    trapped = make_plates(separated(labels, ppi=PPI), PlateSettings(trap_pt=trap_pt))
    assert gaps_after_shifts(labels, trapped, reach) == 0
    butted = make_plates(separated(labels, ppi=PPI), PlateSettings(trap_pt=0))
    assert gaps_after_shifts(labels, butted, reach) > 0  # the simulation does find gaps


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(0, 10**6), st.integers(2, 4), st.sampled_from([0.3, 0.5, 1.0]))
def test_random_drawings_survive_the_press(seed: int, inks: int, trap_pt: float) -> None:
    labels = random_labels(seed, inks)
    if (labels == NO_INK).all():
        return
    names = tuple(LABS)[:inks]
    plates = make_plates(
        separated(labels, names, ppi=PPI),
        PlateSettings(trap_pt=trap_pt, choke_pt=0.75, white_under=True),
    )
    assert gaps_after_shifts(labels, plates, max(length_px(trap_pt, PPI), 1)) == 0
    assert_no_white_rim(labels, plates)
    for plate in plates.plates:
        assert not (plate.mask & (labels == NO_INK)).any()  # open garment stays open


def assert_no_white_rim(labels: NDArray[np.uint8], plates: Plates) -> None:
    whites = [plate.mask for plate in plates.plates if plate.role == "underbase"]
    inked = covered(inks_of(plates))
    for white, (row, col) in product(whites, steps(length_px(0.75, PPI))):
        assert not (shifted(white, row, col) & ~inked).any()


def test_underbase_keeps_what_the_choke_leaves() -> None:
    labels = np.full((100, 100), NO_INK, np.uint8)
    labels[20:80, 20:80] = 0
    plates = make_plates(
        separated(labels, ("Poppy",), ppi=288),
        PlateSettings(choke_pt=0.75, white_under=True),  # 3 px
    )
    white = plates.plates[0]
    assert white.role == "underbase"
    assert white.mask.sum() == 54 * 54
    assert_no_white_rim(labels, plates)
    assert plates.warnings == ()


def test_lines_that_lose_their_white_are_told() -> None:
    labels = np.full((100, 200), NO_INK, np.uint8)
    labels[10:90, 10:90] = 0
    labels[50:53, 90:190] = 0  # 0.75 pt wide at 288 ppi: thinner than twice the choke
    plates = make_plates(
        separated(labels, ("Poppy",), ppi=288), PlateSettings(choke_pt=0.75, white_under=True)
    )
    assert "1.5 pt" in plates.warnings[0]
    only_lines = np.where(labels == 0, np.uint8(NO_INK), labels)
    only_lines[50:53, 10:190] = 0
    plates = make_plates(
        separated(only_lines, ("Poppy",), ppi=288), PlateSettings(choke_pt=0.75, white_under=True)
    )
    assert [plate.role for plate in plates.plates] == ["ink"]
    assert "No line is wide enough" in plates.warnings[0]


def test_no_ink_at_all_is_told() -> None:
    labels = np.full((10, 10), NO_INK, np.uint8)
    with pytest.raises(NothingToPrintError, match="No ink is left"):
        make_plates(separated(labels), PlateSettings())


def test_an_ink_that_prints_nothing_makes_no_plate() -> None:
    labels = np.zeros((10, 10), np.uint8)
    plates = make_plates(separated(labels), PlateSettings(trap_pt=0.5))
    assert [plate.name for plate in plates.plates] == ["Poppy"]


def test_tints_become_dots_over_what_lies_solid_under_them() -> None:
    labels = np.zeros((40, 60), np.uint8)
    tint = np.zeros((40, 60), np.uint8)
    tint[:, 30:] = 128

    def checks(wanted: NDArray[np.uint8]) -> Mask:
        rows, cols = np.indices(wanted.shape)
        return np.asarray((wanted > 0) & ((rows + cols) % 2 == 0), bool)

    plates = make_plates(
        separated(labels, ("Lemon", "Coal"), tints=(None, tint)),
        PlateSettings(trap_pt=1.0, screen=checks),
    )
    lemon, coal = plates.plates
    assert lemon.mask.all()
    assert coal.mask.sum() == 40 * 30 / 2
    assert not coal.solid.any()
    assert np.array_equal(coal.flat, tint > 0)
    assert plates.has_dots


def test_a_tint_hides_no_trap_of_the_solids_around_it() -> None:
    """A fade beside a solid: the lighter ink lies under both, so that no plate's shift opens."""
    labels = np.zeros((40, 60), np.uint8)
    labels[:, 45:] = 1
    tint = np.zeros((40, 60), np.uint8)
    tint[:, 15:45] = np.linspace(0, 255, 30).astype(np.uint8)
    lemon, coal = make_plates(
        separated(labels, ("Lemon", "Coal"), tints=(None, tint)),
        PlateSettings(trap_pt=1.0, screen=lambda wanted: wanted > 127),
    ).plates
    assert lemon.mask[:, :47].all()
    shifted = np.roll(coal.mask, 2, axis=1)
    assert (lemon.mask | shifted)[:, :58].all()


def test_discs_measure_between_centres() -> None:
    dot = np.zeros((9, 9), bool)
    dot[4, 4] = True
    rows, cols = np.mgrid[-4:5, -4:5]
    assert np.array_equal(grown(dot, 3.5), np.hypot(rows, cols) <= 3.5)
    assert not shrunk(np.ones((5, 5), bool), 1)[0].any()
    assert disc(0.5).shape == (1, 1)
