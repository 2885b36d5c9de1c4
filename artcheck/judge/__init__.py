"""One measurement against one limit becomes a finding; findings become a verdict.

Pure decisions over records: no pixels, no files, so every rule is tested with literals.
"""

from __future__ import annotations

from artcheck.domain.findings import Finding
from artcheck.domain.shop import Method, PriceRules
from artcheck.judge.art import art_rules, largest_width_in, line_limit, speck_places, type_size_pt
from artcheck.judge.case import Case, Cloth
from artcheck.judge.cautions import cautions
from artcheck.judge.colours import colour_rules
from artcheck.judge.garment import garment_rules

__all__ = [
    "Case",
    "Cloth",
    "cautions",
    "judge_method",
    "largest_width_in",
    "line_limit",
    "speck_places",
    "too_large",
    "type_size_pt",
]

_ORDER = {"stop": 0, "change": 1, "note": 2}


def judge_method(
    case: Case, method: Method, rules: PriceRules, currency: str
) -> tuple[Finding, ...]:
    """Every finding of this case for this method, worst first, changes priced."""
    found = (
        *art_rules(case, method),
        *colour_rules(case, method),
        *garment_rules(case, method),
    )
    priced = [_with_price(finding, rules, currency) for finding in found]
    return tuple(sorted(priced, key=lambda finding: _ORDER[finding.severity]))


def too_large(reason: str) -> Finding:
    """The price list's refusal as a finding: the size can be changed, the list cannot."""
    from artcheck.judge.case import fact

    return Finding(
        id="price-none",
        severity="stop",
        curable=False,
        text=reason,
        evidence=fact(None, "", "this method's price list"),
    )


def _with_price(finding: Finding, rules: PriceRules, currency: str) -> Finding:
    minutes = rules.change_minutes.get(finding.id)
    if finding.change is None or not minutes:
        return finding
    cost = rules.art_per_hour * minutes / 60
    words = f"{finding.change} (about {minutes} min of art, {cost:.2f} {currency})"
    return finding.model_copy(update={"change": words})
