"""One print weighed by every method; its report follows for whichever method is chosen."""

from __future__ import annotations

from dataclasses import dataclass

from artcheck.domain.check import Crossover, InkReport, LadderRung, MethodReport, Report
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Order
from artcheck.domain.shop import Shop
from artcheck.judge import Case
from artcheck.pipeline.assemble import report_of
from artcheck.pipeline.ladder import ink_ladder
from artcheck.pipeline.methods import case_of, flips_of, method_report
from artcheck.pipeline.nudges import nudges
from artcheck.pipeline.setting import Setting, setting_of
from artcheck.pipeline.whole import what_ifs
from artcheck.recommend import WhatIf, best_of, recommend


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """What does not depend on the method that is chosen in the end."""

    setting: Setting
    inks: tuple[InkReport, ...]
    case: Case
    methods: tuple[MethodReport, ...]
    flips: Crossover
    what_ifs: list[WhatIf]
    ladder: tuple[LadderRung, ...]

    def report(self, chosen: str | None, shared: str = "") -> Report:
        """The report with this method chosen; None leaves the choice to the recommendation.

        ``shared`` says what the print is bought together with.
        """
        answer = recommend(
            self.methods,
            self.flips,
            self.setting.order.pieces,
            self.what_ifs,
            chosen=chosen,
            alone=len(self.setting.order.prints) == 1,
            shared=shared,
            nudges=nudges(self.setting, self.case, self.methods, best_of(self.methods, chosen)),
        )
        return report_of(self.setting, self.inks, self.case, self.methods, answer, self.ladder)


def weighed(measured: Measurements, order: Order, shop: Shop, index: int) -> Weighed:
    """One print of an order, weighed. Fast: records only.

    Raises
    ------
    ColourError
        A colour text or print condition of the order or shop cannot be used.
    """
    setting = setting_of(measured, order, shop, index)
    case = case_of(setting, setting.inks)
    methods = tuple(method_report(method, case, setting) for method in shop.methods)
    return Weighed(
        setting=setting,
        inks=setting.inks,
        case=case,
        methods=methods,
        flips=flips_of(methods, case, setting),
        what_ifs=what_ifs(setting, methods),
        ladder=ink_ladder(setting, setting.inks, case),
    )
