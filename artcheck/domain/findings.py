"""A finding is one measurement against one limit; a verdict is what findings add up to."""

from typing import Literal

from artcheck.domain.base import Box, Record

Severity = Literal["stop", "change", "note"]
"""stop: do not print before this is settled. change: print after this change. note: know this."""

Verdict = Literal["suits", "suits_with_changes", "unsuitable"]


class Evidence(Record):
    """The number behind a finding, the limit it met, and where that limit came from."""

    measured: float | str | None
    limit: float | str | None
    unit: str
    limit_source: str
    where: Box | None = None


class Finding(Record):
    """Something about this art, order and method that the designer must know.

    ``curable`` says whether a change to the art or its colours settles it; a stop that cannot be
    cured makes the method unsuitable. ``message`` is what the customer should read, if anything.
    ``change`` names the work, with its price where the shop prices art time.
    """

    id: str
    severity: Severity
    text: str
    evidence: Evidence
    curable: bool = True
    change: str | None = None
    message: str | None = None


def verdict_of(findings: tuple[Finding, ...]) -> Verdict:
    """The worst that the findings say together."""
    if any(f.severity == "stop" and not f.curable for f in findings):
        return "unsuitable"
    if any(f.severity in ("stop", "change") for f in findings):
        return "suits_with_changes"
    return "suits"
