"""The same question put to a constraint solver: strong where few large pieces leave much slack."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from artcheck.pricing.layout.allowance import STEPS_PER_SECOND, Allowance, SpentError
from artcheck.pricing.layout.mixed import Kind, Piece, Shape, shapes_of

UNITS_PER_SECOND = 0.3
"""Units of the solver's deterministic time in a second of one core, on such models (measured)."""

SEED = 1
"""One worker, one seed and deterministic time make the solver's answers repeatable."""


@dataclass(frozen=True, slots=True)
class _Lying:
    """Where one piece lies, and in which of its shapes."""

    x: Any
    y: Any
    shapes: tuple[tuple[Shape, Any], ...]


def solve(
    size: tuple[int, int], kinds: Sequence[Kind], counts: Sequence[int], allowance: Allowance
) -> list[Piece] | None:
    """A layout of all ``counts`` on a sheet of ``size``; None: there is none.

    The allowance is counted in the solver's deterministic time, not read from a clock.

    Raises
    ------
    SpentError
        It ended before the answer was found.
    """
    from ortools.sat.python import cp_model  # half a second to import, for hard cases only

    model = cp_model.CpModel()
    lying = _model(model, size, kinds, counts)
    steps_per_unit = STEPS_PER_SECOND / UNITS_PER_SECOND
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = max(allowance.left, 0) / steps_per_unit
    status = solver.solve(model)
    allowance.spend(int(solver.response_proto.deterministic_time * steps_per_unit))
    if status == cp_model.INFEASIBLE:
        return None
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise SpentError
    return [
        (solver.value(piece.x), solver.value(piece.y), shape)
        for piece in lying
        for shape, chosen in piece.shapes
        if solver.value(chosen)
    ]


def _model(
    model: Any, size: tuple[int, int], kinds: Sequence[Kind], counts: Sequence[int]
) -> list[_Lying]:
    """Intervals in x and in y for each way in which each piece can lie; boxes must not overlap.

    The piles are stated as well (what is side by side must fit), which the solver bounds better,
    and alike pieces are ordered from left to right.
    """
    shapes = shapes_of(kinds, *size)
    columns, rows, lying = [], [], []
    for kind, count in enumerate(counts):
        before = None
        for _ in range(count):
            x, y = (model.new_int_var(0, length, "") for length in size)
            ways = [(shape, model.new_bool_var("")) for shape in shapes if shape.kind == kind]
            model.add_exactly_one(chosen for _, chosen in ways)
            for shape, chosen in ways:
                columns.append(_interval(model, x, shape.width, size[0], chosen))
                rows.append(_interval(model, y, shape.height, size[1], chosen))
            if before is not None:
                model.add(before <= x)
            before = x
            lying.append(_Lying(x, y, tuple(ways)))
    model.add_no_overlap_2d(columns, rows)
    model.add_cumulative(columns, [row.size_expr() for row in rows], size[1])
    model.add_cumulative(rows, [column.size_expr() for column in columns], size[0])
    return lying


def _interval(model: Any, start: Any, side: int, length: int, chosen: Any) -> Any:
    """An interval that exists where ``chosen``, and then ends on the sheet."""
    model.add(start + side <= length).only_enforce_if(chosen)
    return model.new_optional_fixed_size_interval_var(start, side, chosen, "")
