"""The best inks: against every possible choice, with losses reckoned one by one."""

from __future__ import annotations

from itertools import combinations, pairwise
from math import inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from artcheck.colour.difference import delta_e_2000_single
from artcheck.domain.base import Lab
from artcheck.domain.separation import InkPlan, Loss, SpotInk
from artcheck.errors import UsageError
from artcheck.separation import palette
from artcheck.separation.colours import ArtColours
from artcheck.separation.palette import ink_plans, knee, mixed_ink

Losses = tuple[float, float, float]
WHITE, NAVY = (95.0, 0.0, -2.0), (20.0, 2.0, -24.0)


def art_of(*colours: tuple[Lab, float]) -> ArtColours:
    share = np.array([part for _, part in colours])
    return ArtColours(np.array([lab for lab, _ in colours], float), share, share)


def random_case(seed: int, inks: int, colours: int) -> tuple[ArtColours, list[SpotInk]]:
    random = np.random.default_rng(seed)

    def some(count: int) -> list[Lab]:
        low, high = (15, -70, -70), (95, 70, 70)
        return [(float(c), float(a), float(b)) for c, a, b in random.uniform(low, high, (count, 3))]

    shares = random.dirichlet(np.full(colours, 0.7))
    art = art_of(*zip(some(colours), (float(share) for share in shares), strict=True))
    return art, [mixed_ink(lab) for lab in some(inks)]


def labs_of(art: ArtColours) -> list[Lab]:
    return [(float(c), float(a), float(b)) for c, a, b in art.lab]


def losses(art: ArtColours, inks: list[SpotInk] | tuple[SpotInk, ...]) -> Losses:
    """Mean, 95th percentile by area, worst region: by their definitions, colour by colour."""
    near = [min(delta_e_2000_single(lab, ink.lab) for ink in inks) for lab in art.lab]
    rising, covered = sorted(zip(near, art.share, strict=True)), 0.0
    p95 = inf
    for difference, share in rising:
        covered += float(share)
        if covered >= palette.PERCENTILE - 1e-9:
            p95 = difference
            break
    mean = sum(d * float(s) for d, s in zip(near, art.share, strict=True))
    large = [d for d, s in zip(near, art.region_share, strict=True) if s >= palette.REGION_SHARE]
    return mean, p95, max(large)


def score(loss: Losses) -> float:
    return (
        palette.MEAN_WEIGHT * loss[0]
        + palette.P95_WEIGHT * loss[1]
        + palette.WORST_WEIGHT * loss[2]
    )


def as_losses(loss: Loss) -> Losses:
    return loss.mean_delta_e_2000, loss.p95_delta_e_2000, loss.worst_region_delta_e_2000


def standing(art: ArtColours, inks: list[SpotInk]) -> list[SpotInk]:
    """Inks that come near to what the nearest does for some colour."""
    apart = [[delta_e_2000_single(lab, ink.lab) for lab in labs_of(art)] for ink in inks]
    nearest = [min(column) for column in zip(*apart, strict=True)]
    return [
        ink
        for ink, row in zip(inks, apart, strict=True)
        if any(d <= n + palette.BESIDE_NEAREST for d, n in zip(row, nearest, strict=True))
    ]


def exact_next(art: ArtColours, inks: list[SpotInk], count: int, bound: Losses) -> float:
    """Least score of all sets of so many inks that lose nothing against the rung before."""
    kept = [
        loss
        for chosen in combinations(inks, count)
        for loss in (losses(art, chosen),)
        if all(after <= before + 1e-9 for after, before in zip(loss, bound, strict=True))
    ]
    return min(map(score, kept))


@pytest.mark.parametrize("seed", range(20))
def test_each_rung_is_the_best_of_all_choices(seed: int) -> None:
    art, inks = random_case(seed, inks=7, colours=6)
    free = standing(art, inks)
    bound = (inf, inf, inf)
    for plan in ink_plans(art, inks, 4):
        assert as_losses(plan.loss) == pytest.approx(losses(art, plan.inks))
        assert score(as_losses(plan.loss)) == pytest.approx(
            exact_next(art, free, len(plan.inks), bound)
        )
        bound = as_losses(plan.loss)


def test_greedy_choice_and_swaps_come_to_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there are too many sets to try them all: 320 rungs against every choice."""
    excess = []
    for seed in range(80):
        art, inks = random_case(100 + seed, inks=14, colours=10)
        every = ink_plans(art, inks, 4)
        with monkeypatch.context() as patched:
            patched.setattr(palette, "EXACT_SETS", 0)
            found = ink_plans(art, inks, 4)
        for best, plan in zip(every, found, strict=True):
            excess.append(score(as_losses(plan.loss)) / score(as_losses(best.loss)) - 1)
    assert len(excess) == 320
    assert np.mean(np.array(excess) <= 1e-9) >= 0.98
    assert max(excess) < 0.02


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000), colours=st.integers(1, 12))
def test_no_rung_loses_more_than_the_one_before(seed: int, colours: int) -> None:
    art, inks = random_case(seed, inks=12, colours=colours)
    plans = ink_plans(art, inks, 6)
    assert [len(plan.inks) for plan in plans] == list(range(1, len(plans) + 1))
    for fewer, more in pairwise(plans):
        pairs = zip(as_losses(fewer.loss), as_losses(more.loss), strict=True)
        assert all(before >= after - 1e-6 for before, after in pairs)
    assert 1 <= knee(plans).inks <= len(plans)


def test_an_ink_between_two_colours_stands_for_neither() -> None:
    orange, violet, between = (65.0, 60.0, 78.0), (30.0, 48.0, -62.0), (37.0, 50.0, 28.0)
    art = art_of((orange, 0.5), (violet, 0.5))
    inks = [mixed_ink(between), mixed_ink(orange), mixed_ink(violet)]
    one, two = ink_plans(art, inks, 3)
    assert one.inks[0] in inks[1:]
    assert set(two.inks) == set(inks[1:])


def test_locked_inks_are_in_every_set_and_none_are_dropped() -> None:
    art, inks = random_case(1, inks=10, colours=6)
    locked = [mixed_ink((50.0, 0.0, 0.0)), mixed_ink((51.0, 70.0, 0.0))]
    plans = ink_plans(art, inks, 5, locked)
    assert len(plans[0].inks) == 2
    assert all(set(locked) <= set(plan.inks) for plan in plans)
    with pytest.raises(UsageError, match="allow more inks"):
        ink_plans(art, inks, 1, locked)


def test_garment_colour_costs_no_ink() -> None:
    art = art_of((WHITE, 0.5), (NAVY, 0.5))
    free = ink_plans(art, None, 3, garment_lab=NAVY)
    assert [len(plan.inks) for plan in free] == [1]
    assert free[0].inks[0].lab == WHITE
    assert free[0].loss.worst_region_delta_e_2000 < 1


def test_knee_says_what_one_ink_less_loses() -> None:
    art = art_of((WHITE, 0.4), (NAVY, 0.4), ((21.0, 2.0, -24.0), 0.2))
    plans = ink_plans(art, None, 3)
    found = knee(plans)
    assert found.inks == 2
    worst = plans[0].loss.worst_region_delta_e_2000
    assert f"{worst:.1f} at worst" in found.reason
    assert "one more" in found.reason


def test_knee_of_a_ladder_that_must_end() -> None:
    ink = mixed_ink(WHITE)
    loss = Loss(mean_delta_e_2000=9, p95_delta_e_2000=9, worst_region_delta_e_2000=9)
    plan = InkPlan(inks=(ink,), loss=loss, locked=())
    assert knee([plan], "the method prints 1 ink at most").reason == (
        "1 ink: the method prints 1 ink at most."
    )
