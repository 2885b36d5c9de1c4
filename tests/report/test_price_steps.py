"""Every step of an explained price is an equation that holds, and the last one is the price."""

from __future__ import annotations

import json
import re
from decimal import ROUND_HALF_UP, Decimal
from importlib import resources
from pathlib import Path

import pytest

from artcheck.cli.run import run
from artcheck.domain.check import CostReport
from artcheck.domain.shop import PriceRules
from artcheck.pricing.job import Job
from artcheck.pricing.quote import Run, method_cost, prints_of
from artcheck.report.price_steps import cost_steps
from tests.pricing.shops import SHOP, usd

ORDERS = Path(str(resources.files("artcheck"))) / "demo" / "orders"
SUM = re.compile(r"([\d.]+(?: [x+/] \(?[\d.]+(?: [+-] [\d.]+\))?)+) = ([\d.]+)")


def equations(steps: list[str]) -> list[tuple[str, str]]:
    return [found for step in steps for found in SUM.findall(step)]


def holds(left: str, right: str) -> bool:
    """The left side, reckoned anew and rounded half up to the digits of the right."""
    terms = re.sub(r"[\d.]+", lambda number: f"Decimal('{number[0]}')", left.replace("x", "*"))
    value = eval(terms, {"Decimal": Decimal})
    digits = Decimal(1).scaleb(Decimal(right).as_tuple().exponent)  # type: ignore[arg-type]
    return bool(value.quantize(digits, ROUND_HALF_UP) == Decimal(right))


def cost_of(method_id: str, pieces: int, rules: PriceRules = SHOP.prices) -> CostReport:
    prints = prints_of(pieces, rules.spares, each_different=False)
    job = Job(prints=prints, width_in=6.3, height_in=4.1, inks=1)
    run_ = Run(pieces=pieces, blank=usd(4), art_minutes=20)
    return method_cost(SHOP.method(method_id), job, run_, rules, "USD")


@pytest.mark.parametrize("method_id", ["spot", "film-area", "film-roll", "cut-film"])
@pytest.mark.parametrize("pieces", [1, 7, 34, 60, 333])
def test_each_step_holds_and_the_last_is_the_price(method_id: str, pieces: int) -> None:
    cost = cost_of(method_id, pieces)
    steps = list(cost_steps(cost, SHOP.prices))
    found = equations(steps)
    assert len(found) >= len(cost.lines) + 3  # the sum, the price, the price of a piece
    for left, right in found:
        assert holds(left, right), (left, right)
    results = [right for _, right in found]
    assert results[-2:] == [f"{cost.price_total}", f"{cost.price_per_piece}"]
    assert f"{cost.total}" in results
    assert steps[0].startswith(f"Prints: {pieces} + {cost.prints - pieces} = {cost.prints}")


def test_mark_up_and_rush_are_steps() -> None:
    rules = SHOP.prices.model_copy(update={"margin": None, "mark_up": Decimal("0.8")})
    cost = cost_of("spot", 34, rules)
    steps = list(cost_steps(cost, rules, rush=True))
    assert all(holds(left, right) for left, right in equations(steps))
    assert any("mark-up of 80 %" in step for step in steps)
    assert any(step.startswith("Rush: ") and "1 + 0.25" in step for step in steps)


def test_a_break_that_is_bought_up_to_is_explained() -> None:
    """The fair's order: eighty sheets for 120.00 where 62 would cost 124.00."""
    prints = prints_of(60, SHOP.prices.spares, each_different=False)
    job = Job(prints=prints, width_in=12, height_in=14, inks=1)
    cost = method_cost(SHOP.method("spot"), job, Run(pieces=60), SHOP.prices, "USD")
    steps = list(cost_steps(cost, SHOP.prices))
    assert "A sheet holds 1 copy; 62 prints need 62 sheets." in steps
    assert "80 sheets cost 120.00 and 62 cost 124.00: buy 80, save 4.00." in steps
    assert any("the price from 80 sheets on" in step for step in steps)


def test_the_least_charge_says_what_it_stands_for() -> None:
    job = Job(prints=16, width_in=3.5, height_in=3, inks=1)
    cost = method_cost(SHOP.method("film-area"), job, Run(pieces=15), SHOP.prices, "USD")
    assert any("16 x 0.53 would be 8.48" in step for step in cost_steps(cost, SHOP.prices))


def test_check_shows_the_steps_when_asked(capsys: pytest.CaptureFixture[str]) -> None:
    order = str(ORDERS / "2-bakery.toml")
    assert run(["check", "--order", order, "--explain"]) == 0
    told = capsys.readouterr().out
    assert "172.75 / (1 - 0.50) = 345.50" in told
    assert run(["check", "--order", order]) == 0
    assert "172.75 / (1" not in capsys.readouterr().out
    assert run(["check", "--order", order, "--explain", "--json", "-"]) == 0
    assert json.loads(capsys.readouterr().out)["schema_version"]


def test_an_order_of_several_prints_is_explained_as_a_whole(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["check", "--order", str(ORDERS / "1-league.toml"), "--explain"]) == 0
    assert "244.20 / (1 - 0.50) = 488.40" in capsys.readouterr().out
