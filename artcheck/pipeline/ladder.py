"""The ink ladder: the art in 1, 2, 3 ... inks, what each number loses beside what it costs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from artcheck.domain.check import CostReport, InkReport, LadderInk, LadderRung
from artcheck.domain.separation import InkPlan, inks_words
from artcheck.domain.shop import Method
from artcheck.errors import PriceError
from artcheck.judge import Case
from artcheck.pipeline.ink_choice import candidates, critical_inks, plans_of
from artcheck.pipeline.methods import cost_of, ordered_job
from artcheck.pipeline.setting import Setting
from artcheck.separation.palette import NO_MORE, knee


def ink_ladder(setting: Setting, inks: tuple[InkReport, ...], case: Case) -> tuple[LadderRung, ...]:
    """Every number of inks that is worth printing, by each method that prints inks.

    Empty for a photograph: it has no inks.
    """
    if setting.sized.measured.tone.kind == "photo" or not setting.sized.measured.inks.inks:
        return ()
    return tuple(
        rung
        for method in setting.shop.methods
        if method.most_inks is not None
        for rung in _rungs(_Climb(setting, inks, case, method))
    )


@dataclass(frozen=True, slots=True)
class _Climb:
    """One method on one print."""

    setting: Setting
    inks: tuple[InkReport, ...]
    case: Case
    method: Method

    def cost(self, plan: InkPlan) -> CostReport | None:
        """What the order costs in these inks."""
        job = ordered_job(self.method, self.case, self.setting)
        if job is None:
            return None
        mixed = sum(1 for ink in plan.inks if not ink.stock)
        try:
            return cost_of(
                self.method, replace(job, inks=len(plan.inks), mixed=mixed), self.setting
            )
        except PriceError:
            return None


def _rungs(climb: _Climb) -> Iterator[LadderRung]:
    best, shelf = _plans(climb)
    if not best:
        return
    must = min(len(critical_inks(climb.setting)), len(best[-1].inks))
    worthy = [plan for plan in best if len(plan.inks) >= must]
    chosen = knee(worthy, _why_no_more(climb, worthy))
    critical = _critical_words(climb) if chosen.inks == must > 1 else ""
    costs = {plan: climb.cost(plan) for plan in (*best, *shelf)}
    for plan in best:
        here = len(plan.inks) == chosen.inks
        reason = chosen.reason + critical + _money_words(best, plan, costs) if here else ""
        yield _rung(climb.method, plan, costs[plan], recommended=here, reason=reason)
        yield from (
            _rung(climb.method, other, costs[other])
            for other in shelf
            if len(other.inks) == len(plan.inks) and set(other.inks) != set(plan.inks)
        )


def _critical_words(climb: _Climb) -> str:
    names = " and ".join(ink.name for ink in critical_inks(climb.setting))
    return f" Fewer cannot hold {names}, which are critical."


def _why_no_more(climb: _Climb, plans: Sequence[InkPlan]) -> str:
    """Why the ladder ends where it does."""
    count = len(plans[-1].inks)
    if count == len(climb.setting.print_.inks):
        return "the order asks for no more"
    if count == climb.method.most_inks and count < (climb.case.ink_count or 0):
        return f"the method prints {inks_words(count)} at most"
    return NO_MORE


def _plans(climb: _Climb) -> tuple[list[InkPlan], tuple[InkPlan, ...]]:
    """The best sets of inks, and those from the shelf alone where the best hold mixed ones.

    Critical brand colours are in every set that is large enough for them.
    """
    setting, most = climb.setting, climb.method.most_inks
    assert most is not None
    choice = candidates(setting, climb.inks, climb.method)
    critical = critical_inks(setting)
    must = len(critical) if len(critical) <= most else 0
    best = [
        *(plan for plan in plans_of(setting, choice, most) if len(plan.inks) < max(must, 1)),
        *plans_of(setting, choice, most, critical[:must]),
    ]
    if all(ink.stock for plan in best for ink in plan.inks) or setting.print_.inks:
        return best, ()
    return best, plans_of(setting, tuple(ink for ink in choice if ink.stock), most)


def _rung(
    method: Method,
    plan: InkPlan,
    cost: CostReport | None,
    *,
    recommended: bool = False,
    reason: str = "",
) -> LadderRung:
    return LadderRung(
        inks=len(plan.inks),
        mean_delta_e_2000=plan.loss.mean_delta_e_2000,
        p95_delta_e_2000=plan.loss.p95_delta_e_2000,
        worst_region_delta_e_2000=plan.loss.worst_region_delta_e_2000,
        method=method.id,
        total=cost.total if cost else None,
        per_piece=cost.per_piece if cost else None,
        price_total=cost.price_total if cost else None,
        palette=tuple(LadderInk(name=ink.name, hex=ink.hex, stock=ink.stock) for ink in plan.inks),
        recommended=recommended,
        reason=reason,
    )


def _money_words(
    plans: Sequence[InkPlan], plan: InkPlan, costs: dict[InkPlan, CostReport | None]
) -> str:
    """What an ink less would save and an ink more would cost."""
    at, here = plans.index(plan), costs[plan]
    if here is None:
        return ""
    before = costs[plans[at - 1]] if at > 0 else None
    after = costs[plans[at + 1]] if at + 1 < len(plans) else None
    words = ""
    if before is not None:
        saved = here.total - before.total
        fewer = inks_words(len(plans[at - 1].inks))
        words += f" In {fewer} the order costs {saved:f} {here.currency} less."
    if after is not None:
        more = inks_words(len(plans[at + 1].inks))
        words += f" In {more} it costs {after.total - here.total:f} {here.currency} more."
    return words
