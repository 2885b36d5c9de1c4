"""The best so many inks for an art, out of the shelf or mixed, with what each number loses.

Each colour of the art prints in the nearest ink of the set; a colour near the garment's may print
in nothing. An added ink can then never make any colour worse, and a ladder is built so that none of
its losses rises: a set that trades one loss for another is no step up.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import NDArray

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import lab_to_hex
from artcheck.domain.base import Lab
from artcheck.domain.separation import InkPlan, Loss, SpotInk, inks_words
from artcheck.errors import UsageError
from artcheck.separation.colours import ArtColours

Floats = NDArray[np.float64]
Sets = NDArray[np.intp]

REGION_SHARE = 0.003
"""Share of the ink from which a region counts as the worst: what covers less is not seen on cloth
as a colour of its own (common practice)."""

PERCENTILE = 0.95

MEAN_WEIGHT, P95_WEIGHT, WORST_WEIGHT = 0.5, 0.25, 0.25
"""How the three losses make one score. Our choice: area decides, but an eye of a mascot that turns
from red to white costs as much as a slight change of the whole."""

KNOCK_OUT_WITHIN = 5.0
"""CIEDE2000 to the garment within which a colour may be left out, where no shop limit is given
(the packaged default of ``garment_match``)."""

EXACT_SETS = 3000
"""Sets that are all tried; where there are more, greedy choice and swaps look for the best."""

MOST_SWAPS = 20_000
"""Exchanges that are looked at in one step: some 20 ms. Of 60 inks two at a time for six chosen."""

NO_GAIN = 1e-6
"""Fall of the score under which one more ink does nothing."""

KNEE_GAIN = 1.0
"""Fall of the score for each further ink under which it is not worth its screen: a difference of
about 1 CIEDE2000 is the least that is noticed (common practice)."""

BESIDE_NEAREST = 5.0
"""CIEDE2000 beyond the nearest ink's at which an ink still stands for a colour: further off it
would be another colour (common practice; the packaged default of ``colour_other``)."""

RISE = 1e-9
"""Rounding error of a loss."""


NO_MORE = "one more would change nothing that counts"


@dataclass(frozen=True, slots=True)
class Knee:
    """The number of inks from which more buy little, and why in words."""

    inks: int
    reason: str


def mixed_ink(lab: Lab) -> SpotInk:
    """An ink mixed to order to this colour."""
    code = lab_to_hex(lab)
    return SpotInk(name=code, hex=code, lab=lab, stock=False)


def ink_plans(
    art: ArtColours,
    candidates: Sequence[SpotInk] | None,
    most: int,
    locked: Sequence[SpotInk] = (),
    garment_lab: Lab | None = None,
    *,
    knock_out_within: float = KNOCK_OUT_WITHIN,
) -> tuple[InkPlan, ...]:
    """The best sets of 1, 2, 3 ... inks, up to ``most`` or to where one more changes nothing.

    Parameters
    ----------
    art
        Its colours with their shares.
    candidates
        Inks to choose from; None when every ink is mixed: then the art's own colours are chosen
        from. Inks that stand for no colour of the art are passed over: one between two colours
        would be right in neither, though it may lose least by the figures.
    most
        The most inks that the method prints.
    locked
        Inks that are in every set.
    garment_lab
        The garment's colour; colours of the art within ``knock_out_within`` (CIEDE2000) of it may
        be left to it. None where nothing is knocked out.

    Raises
    ------
    UsageError
        ``most`` is less than 1 or less than the number of locked inks.
    """
    if most < max(1, len(locked)):
        raise UsageError(
            f"{inks_words(most)} cannot hold the {max(1, len(locked))} that must be in:"
            " allow more inks or lock fewer."
        )
    choice = _standing_for_some(art, _candidates(art, candidates, locked), len(locked))
    fixed = tuple(range(len(locked)))
    search = _Search(art, _costs(art, choice), _floor(art, garment_lab, knock_out_within))
    return tuple(
        _plan(search, choice, chosen, fixed) for chosen in _ladder(search, fixed, most, len(choice))
    )


def knee(plans: Sequence[InkPlan], last: str = NO_MORE) -> Knee:
    """The fewest inks from which no further ink gains `KNEE_GAIN` on the average.

    ``last`` says why there are no more inks than the last plan has.
    """
    scores = [_score_of(plan.loss) for plan in plans]
    for index, score in enumerate(scores):
        gains = [(score - after) / n for n, after in enumerate(scores[index + 1 :], start=1)]
        if all(gain < KNEE_GAIN for gain in gains):
            return Knee(len(plans[index].inks), _knee_words(plans, index, last))
    raise ValueError("no plans")


def _knee_words(plans: Sequence[InkPlan], index: int, last: str) -> str:
    here = plans[index]
    count = inks_words(len(here.inks))
    parts = []
    if index > 0:
        before = plans[index - 1]
        parts.append(
            f"one ink less is off by {before.loss.mean_delta_e_2000:.1f} dE00 on average and"
            f" {before.loss.worst_region_delta_e_2000:.1f} at worst"
        )
    if index + 1 < len(plans):
        after = plans[index + 1]
        gained = here.loss.mean_delta_e_2000 - after.loss.mean_delta_e_2000
        parts.append(f"one more would bring the average only {gained:.1f} dE00 nearer")
    else:
        parts.append(last)
    return f"{count}: {'; '.join(parts)}."


# --- the search ---------------------------------------------------------------------------------


def _candidates(
    art: ArtColours, candidates: Sequence[SpotInk] | None, locked: Sequence[SpotInk]
) -> list[SpotInk]:
    """The locked inks first, then every other."""
    if candidates is None:
        candidates = [mixed_ink((float(c), float(a), float(b))) for c, a, b in art.lab]
    return [*locked, *(ink for ink in candidates if ink not in locked)]


def _standing_for_some(art: ArtColours, inks: list[SpotInk], locked: int) -> list[SpotInk]:
    """The locked inks, and those that for some colour come near to what the nearest ink does."""
    if len(inks) <= locked:
        return inks
    costs = _costs(art, inks)
    near = (costs <= costs[locked:].min(axis=0) + BESIDE_NEAREST).any(axis=1)
    return [ink for n, ink in enumerate(inks) if n < locked or near[n]]


def _costs(art: ArtColours, inks: Sequence[SpotInk]) -> Floats:
    """(inks, colours) CIEDE2000."""
    labs = np.array([ink.lab for ink in inks], np.float64).reshape(-1, 1, 3)
    return np.asarray(delta_e_2000(labs, art.lab[None]), np.float64)


def _floor(art: ArtColours, garment_lab: Lab | None, within: float) -> Floats:
    """(colours,) CIEDE2000 of leaving a colour to the garment; infinite where that is not done."""
    if garment_lab is None:
        return np.full(len(art.share), np.inf)
    apart = np.asarray(delta_e_2000(art.lab, np.array(garment_lab)), np.float64)
    return np.where(apart <= within, apart, np.inf)


@dataclass(frozen=True, slots=True)
class _Search:
    """The colours against every ink: ``costs`` (inks, colours), ``floor`` (colours,)."""

    art: ArtColours
    costs: Floats
    floor: Floats

    def losses(self, sets: Sets) -> Floats:
        """(S, 3) mean, 95th percentile and worst region of each of (S, k) sets of inks."""
        apart = np.minimum(self.costs[sets].min(axis=1), self.floor)
        return losses_of(apart, self.art)

    def best(self, sets: Sets, bound: Floats) -> tuple[tuple[int, ...], Floats]:
        """The set of least score none of whose losses exceeds ``bound``, and its losses.

        The first of equals; the sets must hold one that keeps to the bound.
        """
        losses = self.losses(sets)
        scores = losses @ WEIGHTS
        scores[(losses > bound + RISE).any(axis=1)] = np.inf
        first = int(np.argmin(scores > scores.min() + RISE))
        return tuple(sorted(int(i) for i in sets[first])), losses[first]


WEIGHTS = np.array([MEAN_WEIGHT, P95_WEIGHT, WORST_WEIGHT])


def losses_of(apart: Floats, art: ArtColours) -> Floats:
    """(S, 3) mean, 95th percentile and worst region of (S, colours) differences."""
    order = np.argsort(apart, axis=1)
    reached = np.cumsum(art.share[order], axis=1) >= PERCENTILE - RISE
    at = np.take_along_axis(order, reached.argmax(axis=1)[:, None], axis=1)
    counted = art.region_share >= REGION_SHARE
    worst = apart[:, counted].max(axis=1) if counted.any() else np.zeros(len(apart))
    return np.stack([apart @ art.share, np.take_along_axis(apart, at, axis=1)[:, 0], worst], axis=1)


def _ladder(
    search: _Search, fixed: tuple[int, ...], most: int, count: int
) -> Iterator[tuple[int, ...]]:
    """The chosen inks of each rung."""
    chosen, bound = fixed, np.full(3, np.inf)
    if fixed:
        bound = search.losses(np.array([fixed], np.intp))[0]
        yield fixed
    for _ in range(len(fixed), min(most, count)):
        grown, losses = _next_rung(search, chosen, bound, fixed, count)
        if chosen and float((bound - losses) @ WEIGHTS) < NO_GAIN:
            return
        chosen, bound = grown, losses
        yield chosen


def _next_rung(
    search: _Search, chosen: tuple[int, ...], bound: Floats, fixed: tuple[int, ...], count: int
) -> tuple[tuple[int, ...], Floats]:
    free, wanted = count - len(fixed), len(chosen) + 1 - len(fixed)
    if comb(free, wanted) <= EXACT_SETS:
        return search.best(all_sets(count, wanted, fixed), bound)
    return grown_and_swapped(search, chosen, bound, fixed, count)


def all_sets(count: int, wanted: int, fixed: tuple[int, ...]) -> Sets:
    """(S, k) every choice of ``wanted`` inks beside the fixed ones, which are the first."""
    free = range(len(fixed), count)
    return np.array([(*fixed, *rest) for rest in combinations(free, wanted)], np.intp)


def grown_and_swapped(
    search: _Search, chosen: tuple[int, ...], bound: Floats, fixed: tuple[int, ...], count: int
) -> tuple[tuple[int, ...], Floats]:
    """Add the ink that gains most, then exchange inks, one and two at a time, while that gains."""
    others = [i for i in range(count) if i not in chosen]
    best, losses = search.best(np.array([(*chosen, i) for i in others], np.intp), bound)
    while True:
        for exchanged in (1, 2):
            swaps = list(_swaps(best, fixed, count, exchanged))
            other, other_losses = search.best(np.array([best, *swaps], np.intp), bound)
            if float((losses - other_losses) @ WEIGHTS) >= NO_GAIN:
                best, losses = other, other_losses
                break
        else:
            return best, losses


def _swaps(
    best: tuple[int, ...], fixed: tuple[int, ...], count: int, exchanged: int
) -> Iterator[tuple[int, ...]]:
    """Every set that differs from the best in so many inks, the fixed ones kept."""
    free = [i for i in best if i not in fixed]
    others = [i for i in range(count) if i not in best]
    if comb(len(free), exchanged) * comb(len(others), exchanged) > MOST_SWAPS:
        return
    for out in combinations(free, exchanged):
        kept = tuple(i for i in best if i not in out)
        for new in combinations(others, exchanged):
            yield (*kept, *new)


def _plan(
    search: _Search, inks: Sequence[SpotInk], chosen: tuple[int, ...], fixed: tuple[int, ...]
) -> InkPlan:
    at = np.array(chosen, np.intp)
    costs = search.costs[at]
    nearest = np.where(search.floor <= costs.min(axis=0), -1, costs.argmin(axis=0))
    area = [float(search.art.share[nearest == n].sum()) for n in range(len(chosen))]
    order = sorted(range(len(chosen)), key=lambda n: (-area[n], chosen[n]))
    mean, p95, worst = (float(value) for value in search.losses(at[None])[0])
    return InkPlan(
        inks=tuple(inks[chosen[n]] for n in order),
        loss=Loss(mean_delta_e_2000=mean, p95_delta_e_2000=p95, worst_region_delta_e_2000=worst),
        locked=tuple(inks[i].name for i in fixed),
    )


def _score_of(loss: Loss) -> float:
    parts = (loss.mean_delta_e_2000, loss.p95_delta_e_2000, loss.worst_region_delta_e_2000)
    return float(np.array(parts) @ WEIGHTS)
