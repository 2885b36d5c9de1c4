"""The nearest printable colour: exact for printable ones, equal to independent searches."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import colour
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.print_model import PrintModel, read_print_model
from artcheck.colour.reach import (
    ACHROMATIC_CHROMA,
    LIKE_HUE_DEG,
    Reach,
    nearest_reachable,
    nearest_reachable_many,
)
from tests.colour.searching import SlowSearch

Lab = tuple[float, float, float]

CONDITIONS = pytest.mark.parametrize("condition", ["tr006", "fogra39"])

# Brand colours of an invented shop's customers: CIELAB D50, least CIEDE2000 under TR 006 and under
# FOGRA39L. The FOGRA39L figures were first worked out by linear interpolation of the patches alone
# (6.9, 7.3, 0.0, 0.0, 0.2, 2.5, 2.8, 7.9; half a unit of doubt), independently of this model.
BRANDS: dict[str, tuple[Lab, float, float]] = {
    "ember orange": ((65, 60, 78), 6.74, 6.94),
    "dusk violet": ((30, 48, -62), 7.73, 7.24),
    "harbor teal": ((52, -38, -12), 0.0, 0.0),
    "oven red": ((46, 66, 42), 0.0, 0.0),
    "goldcrest": ((78, 12, 76), 0.09, 0.14),
    "pitch green": ((50, -66, 36), 2.72, 2.46),
    "signal blue": ((36, 14, -62), 2.96, 2.81),
    "spring lime": ((80, -40, 74), 7.49, 7.91),
}
BRAND_LABS: list[Lab] = [lab for lab, _, _ in BRANDS.values()]


def targets(count: int, seed: int, span: float = 80) -> list[Lab]:
    """Colours all over CIELAB, most of them out of reach."""
    rng = np.random.default_rng(seed)
    rows = rng.uniform([12, -span, -span], [94, span, span], (count, 3)).tolist()
    return [(lightness, a, b) for lightness, a, b in rows]


def differences(found: list[Reach]) -> np.ndarray:
    return np.array([reach.delta_e_2000 for reach in found])


@pytest.mark.parametrize("name", BRANDS)
def test_brand_colours(name: str, tr006: PrintModel, fogra39: PrintModel) -> None:
    lab, under_tr006, under_fogra39 = BRANDS[name]
    assert nearest_reachable(lab, tr006).delta_e_2000 == pytest.approx(under_tr006, abs=0.05)
    assert nearest_reachable(lab, fogra39).delta_e_2000 == pytest.approx(under_fogra39, abs=0.05)


@CONDITIONS
def test_zero_for_what_the_model_prints(condition: str, request: pytest.FixtureRequest) -> None:
    model: PrintModel = request.getfixturevalue(condition)
    cmyk = np.random.default_rng(1).random((300, 4))
    printed = model.lab(cmyk).astype(float).tolist()
    found = nearest_reachable_many([(light, a, b) for light, a, b in printed], model)
    assert differences(found).max() <= 0.05


@CONDITIONS
def test_the_difference_is_that_of_the_named_print(
    condition: str, request: pytest.FixtureRequest
) -> None:
    """Nothing below the truth: the tones named do print the colour named, so far away."""
    model: PrintModel = request.getfixturevalue(condition)
    for reach in nearest_reachable_many([*BRAND_LABS, *targets(60, seed=2)], model):
        assert all(0 <= tone <= 1 for tone in reach.cmyk)
        assert model.lab(reach.cmyk) == pytest.approx(reach.lab, abs=0.02)
        stated = float(colour.delta_E(reach.target, reach.lab, method="CIE 2000"))
        assert reach.delta_e_2000 == pytest.approx(stated, abs=1e-3)


@CONDITIONS
def test_equal_to_an_independent_search(condition: str, request: pytest.FixtureRequest) -> None:
    model: PrintModel = request.getfixturevalue(condition)
    slow = SlowSearch(model)
    wanted = [*BRAND_LABS, *targets(6, seed=21)]
    found = differences(nearest_reachable_many(wanted, model))
    expected = np.array([slow.nearest(lab) for lab in wanted])
    apart = np.abs(found - expected)
    assert np.median(apart) <= 0.02
    assert apart.max() <= 0.3


def test_equal_to_an_independent_search_under_an_ink_limit(tr006: PrintModel) -> None:
    slow = SlowSearch(tr006)
    wanted: list[Lab] = [(10, 0, 0), (16, 8, -12), (20, 30, 20), (30, 48, -62)]
    found = nearest_reachable_many(wanted, tr006, total_ink_limit=2.4)
    expected = [slow.nearest(lab, total_ink_limit=2.4) for lab in wanted]
    assert differences(found) == pytest.approx(expected, abs=0.02)
    assert all(sum(reach.cmyk) <= 2.4 + 1e-3 for reach in found)


def test_equal_to_a_second_forward_model(tr006: PrintModel, argyll_profile: Path) -> None:
    """The profile that ArgyllCMS makes of the same patches, read as a user's own profile."""
    second = read_print_model(argyll_profile.read_bytes(), argyll_profile.name)
    wanted = [*BRAND_LABS, *targets(100, seed=3)]
    one = differences(nearest_reachable_many(wanted, tr006))
    two = differences(nearest_reachable_many(wanted, second))
    # The two models themselves are 0.3 apart in the mean (a profile smooths its patches).
    assert np.median(np.abs(one - two)) <= 0.05
    assert np.abs(one - two).max() <= 0.3


def test_many_are_the_same_as_one_by_one(tr006: PrintModel) -> None:
    wanted = targets(40, seed=4)
    assert nearest_reachable_many(wanted, tr006) == [
        nearest_reachable(lab, tr006) for lab in wanted
    ]
    assert nearest_reachable_many([], tr006) == []


def test_less_ink_reaches_no_further(tr006: PrintModel) -> None:
    wanted = targets(30, seed=5)
    limits = (4.0, 3.2, 2.4, 1.5, 0.8)
    reached = [differences(nearest_reachable_many(wanted, tr006, limit)) for limit in limits]
    for more, less in pairwise(reached):
        assert (less >= more - 0.02).all()
    assert (reached[-1] > reached[0] + 1).any()


def test_without_a_limit_is_four_hundred_per_cent(tr006: PrintModel) -> None:
    wanted = targets(5, seed=6)
    assert nearest_reachable_many(wanted, tr006) == nearest_reachable_many(wanted, tr006, 4.0)


@pytest.mark.parametrize("limit", [0.0, -1.0, 4.5])
def test_impossible_limits_are_refused(limit: float, tr006: PrintModel) -> None:
    with pytest.raises(ValueError, match="is not above 0 and at most 4"):
        nearest_reachable((50, 0, 0), tr006, limit)


def hue_apart_deg(lab1: Lab, lab2: Lab) -> float:
    hues = [np.degrees(np.arctan2(lab[2], lab[1])) for lab in (lab1, lab2)]
    return float(abs((hues[0] - hues[1] + 180) % 360 - 180))


def test_like_hue_beside_a_near_grey(fogra39: PrintModel) -> None:
    """A violet whose least CIEDE2000 is a grey of its lightness."""
    violet = (57.7, 71.0, -73.9)
    reach = nearest_reachable(violet, fogra39)
    assert np.hypot(*reach.lab[1:]) < 15
    assert reach.like_hue_lab is not None
    assert reach.like_hue_cmyk is not None
    assert reach.like_hue_delta_e_2000 is not None
    assert hue_apart_deg(violet, reach.like_hue_lab) <= LIKE_HUE_DEG
    assert np.hypot(*reach.like_hue_lab[1:]) > 30
    assert reach.like_hue_delta_e_2000 > reach.delta_e_2000
    assert reach.swatch_lab == reach.like_hue_lab
    assert fogra39.lab(reach.like_hue_cmyk) == pytest.approx(reach.like_hue_lab, abs=0.02)


@CONDITIONS
def test_like_hue_is_the_nearest_of_like_hue(
    condition: str, request: pytest.FixtureRequest
) -> None:
    model: PrintModel = request.getfixturevalue(condition)
    tones = np.random.default_rng(9).random((40_000, 4))
    tones[:20_000] = np.clip(1.4 * tones[:20_000] - 0.2, 0, 1)  # many on the gamut's surface
    printed = model.lab(tones).astype(float)
    wanted = [lab for lab in targets(80, seed=7) if lab[2] < -20]
    with_other = [r for r in nearest_reachable_many(wanted, model) if r.like_hue_lab is not None]
    assert len(with_other) >= 5
    for reach in with_other:
        assert reach.like_hue_lab is not None
        assert reach.like_hue_delta_e_2000 is not None
        assert hue_apart_deg(reach.target, reach.lab) > LIKE_HUE_DEG
        assert hue_apart_deg(reach.target, reach.like_hue_lab) <= LIKE_HUE_DEG
        alike = [hue_apart_deg(reach.target, (lab[0], lab[1], lab[2])) for lab in printed.tolist()]
        best = delta_e_2000(printed[np.array(alike) <= LIKE_HUE_DEG], reach.target).min()
        assert reach.like_hue_delta_e_2000 <= float(best) + 0.02


def test_no_like_hue_where_none_is_needed(tr006: PrintModel) -> None:
    in_reach, of_like_hue, grey = (50.0, 20.0, 10.0), (65.0, 60.0, 78.0), (99.0, 1.0, -2.0)
    assert np.hypot(*grey[1:]) < ACHROMATIC_CHROMA
    for lab in (in_reach, of_like_hue, grey):
        reach = nearest_reachable(lab, tr006)
        assert reach.like_hue_lab is None
        assert reach.like_hue_cmyk is None
        assert reach.like_hue_delta_e_2000 is None
        assert reach.swatch_lab == reach.lab


@given(lab=st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128)))
@settings(max_examples=25, deadline=None)
def test_any_colour_has_a_nearest(lab: Lab) -> None:
    from artcheck.colour.print_model import packaged_model

    model = packaged_model("tr006")
    reach = nearest_reachable(lab, model)
    assert np.isfinite(reach.delta_e_2000)
    # No node of the lattice is nearer (float32 of the scan leaves 0.001).
    assert reach.delta_e_2000 <= float(delta_e_2000(model.node_lab, lab).min()) + 0.001
