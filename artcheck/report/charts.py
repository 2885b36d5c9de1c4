"""Cost against quantity as an inline drawing: plain numbers in, SVG text out.

The drawing takes its width from where it stands and its ink from the text around it
(``currentColor``), so it serves a desk, a phone, a dark page and a printed one. Methods differ by
dash and weight, never by hue alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from math import ceil, floor, log, log10

from artcheck.report.words import plain

PLOT_PX = 260
LEGEND_ROW_PX = 22
AXIS_PX = 40
_TOP_PX = 24
"""Room in px: the plot's height, a legend row, the quantities below, the topmost amount."""

MOST_POINTS = 400
"""Points drawn of one curve: about one for each two px of a wide page."""

TICKS = 4
"""Amounts named on the upright axis, at least."""

_DASHES = ("", "7 4", "2 3", "9 3 2 3", "14 5")
"""Dash patterns by place in the list; a sixth method starts anew."""


@dataclass(frozen=True, slots=True)
class Curve:
    """One method's amounts by quantity: ``points`` are (pieces, amount), pieces rising from 1."""

    name: str
    points: tuple[tuple[int, float], ...]
    chosen: bool = False


def cost_chart(
    curves: Sequence[Curve],
    *,
    what: str,
    pieces: int | None = None,
    close_call: tuple[int, int] | None = None,
) -> str:
    """Draw amounts against quantity, pieces on a logarithmic axis, amounts from zero.

    Parameters
    ----------
    curves
        At least one, each with at least two points; all over about the same quantities.
    what
        What the amounts are, with their currency: "price a piece, USD".
    pieces
        The order's quantity, marked by an upright line and told in the legend.
    close_call
        Quantities, both included, shaded as a close call.

    Returns
    -------
    str
        An ``<svg>`` element, safe to stand in HTML as it is.

    Raises
    ------
    ValueError
        No curve, or one without two points.
    """
    if not curves or any(len(curve.points) < 2 for curve in curves):
        raise ValueError("a chart needs curves of two points or more")
    frame = _frame_of(curves)
    legend = len(curves) * LEGEND_ROW_PX
    height = legend + _TOP_PX + PLOT_PX + AXIS_PX
    size = f'width="100%" height="{height}" font-size="13" fill="currentColor"'
    label = f'role="img" aria-label="{_text(what)} by quantity"'
    place = f'y="{legend + _TOP_PX}" width="100%" height="{PLOT_PX}" overflow="visible"'
    legend_parts = "".join(_legend(curves, pieces))
    lines = (*_grid(frame, what), *_plot(curves, frame, pieces, close_call))
    plot = "".join((*lines, *_amount_names(frame)))
    return f'<svg class="cost-chart" {label} {size}>{legend_parts}<svg {place}>{plot}</svg></svg>'


@dataclass(frozen=True, slots=True)
class _Frame:
    """What the plot spans: pieces ``first`` to ``last``, amounts 0 to ``top``."""

    first: int
    last: int
    top: float

    def x(self, quantity: float) -> float:
        """Percent of the plot's width."""
        return 100 * log(quantity / self.first) / log(self.last / self.first)

    def y(self, amount: float) -> float:
        """Percent of the plot's height, from above."""
        return 100 * (1 - amount / self.top)


def _frame_of(curves: Sequence[Curve]) -> _Frame:
    quantities = [quantity for curve in curves for quantity, _ in curve.points]
    most = max(amount for curve in curves for _, amount in curve.points)
    step = _step(most)
    return _Frame(min(quantities), max(quantities), top=step * ceil(most / step) or step)


def _step(most: float) -> float:
    """A round step (1, 2 or 5 times a power of ten) that gives at least `TICKS` steps."""
    wanted = max(most, LEAST_TOP) / TICKS
    power = 10.0 ** floor(log10(wanted))
    # 0.5: a logarithm rounded up would leave none
    return max(power * m for m in (0.5, 1, 2, 5) if power * m <= wanted)


LEAST_TOP = 0.04
"""The least amount that an axis reaches: steps of a cent. A chart of nothing has one too."""


# --- parts of the drawing -----------------------------------------------------------------------


def _legend(curves: Sequence[Curve], pieces: int | None) -> Iterator[str]:
    for number, curve in enumerate(curves):
        y = number * LEGEND_ROW_PX + LEGEND_ROW_PX / 2
        amount = dict(curve.points).get(pieces) if pieces is not None else None
        at = "" if amount is None else f": {amount:,.2f} at {pieces:,}"
        weight = ' font-weight="600"' if curve.chosen else ""
        yield f'<line x1="0" x2="32" y1="{y:g}" y2="{y:g}" {_stroke(number, curve)}/>'
        yield f'<text x="42" y="{y + 4.5:g}"{weight}>{_text(curve.name)}{at}</text>'


def _grid(frame: _Frame, what: str) -> Iterator[str]:
    """Lines of equal amount, and the axes' words."""
    for amount in _amounts(frame):
        y = _percent(frame.y(amount))
        faint = 'stroke="currentColor" stroke-opacity=".25"'
        yield f'<line x1="0" x2="100%" y1="{y}" y2="{y}" {faint}/>'
    below = PLOT_PX + 36
    yield f'<text x="0" y="{below}">pieces</text>'
    yield f'<text x="100%" y="{below}" text-anchor="end">{_text(what)}</text>'
    for quantity in _round_quantities(frame):
        x = frame.x(quantity)
        anchor = "start" if x < _EDGE else "end" if x > 100 - _EDGE else "middle"
        place = f'x="{_percent(x)}" y="{PLOT_PX + 18}" text-anchor="{anchor}"'
        yield f"<text {place}>{quantity:,}</text>"


def _amounts(frame: _Frame) -> list[float]:
    step = _step(frame.top)
    return [number * step for number in range(round(frame.top / step) + 1)]


def _amount_names(frame: _Frame) -> Iterator[str]:
    """Each above the right end of its line, where a falling price leaves room.

    A halo in the page's ground (its style sheet colours the class ``halo``) keeps them apart
    from a curve that passes.
    """
    halo = 'class="halo" paint-order="stroke" stroke-width="5"'
    for amount in _amounts(frame):
        y = _percent(frame.y(amount))
        yield f'<text x="100%" y="{y}" dy="-4" text-anchor="end" {halo}>{amount:,g}</text>'


_EDGE = 3.0
"""Percent of the width within which a quantity's name would stick out."""


def _round_quantities(frame: _Frame) -> list[int]:
    """1, 2, 5, 10, 20 ... inside the frame; only powers of ten where those are many."""
    decades = log10(frame.last / frame.first)
    factors = (1, 2, 5) if decades < 2.5 else (1,)
    powers = range(floor(log10(frame.last)) + 1)
    values = [factor * 10**power for power in powers for factor in factors]
    return [value for value in values if frame.first <= value <= frame.last]


def _plot(
    curves: Sequence[Curve],
    frame: _Frame,
    pieces: int | None,
    close_call: tuple[int, int] | None,
) -> Iterator[str]:
    yield (
        f'<svg width="100%" height="{PLOT_PX}" viewBox="0 0 100 100" preserveAspectRatio="none">'
    )
    if close_call is not None:
        yield _band(frame, close_call)
    for number, curve in enumerate(curves):
        places = " ".join(
            f"{frame.x(quantity):.2f},{frame.y(amount):.2f}" for quantity, amount in _thinned(curve)
        )
        yield f'<polyline fill="none" points="{places}" {_stroke(number, curve)}/>'
    if pieces is not None and frame.first <= pieces <= frame.last:
        x = f"{frame.x(pieces):.2f}"
        yield (
            f'<line x1="{x}" x2="{x}" y1="0" y2="100" stroke="currentColor" stroke-width="1"'
            ' vector-effect="non-scaling-stroke"/>'
        )
    yield "</svg>"


def _band(frame: _Frame, close_call: tuple[int, int]) -> str:
    first = max(close_call[0], frame.first)
    last = min(close_call[1] + 1, frame.last)
    x, end = frame.x(first), frame.x(max(first, last))
    return (
        f'<rect x="{x:.2f}" width="{end - x:.2f}" y="0" height="100" fill-opacity=".12">'
        f"<title>close call: {close_call[0]:,}–{close_call[1]:,} pieces</title></rect>"
    )


def _thinned(curve: Curve) -> tuple[tuple[int, float], ...]:
    """At most about `MOST_POINTS` points, evenly spread over the logarithmic axis."""
    points = curve.points
    if len(points) <= MOST_POINTS:
        return points
    ratio = (points[-1][0] / points[0][0]) ** (1 / MOST_POINTS)
    kept, least = [points[0]], points[0][0] * ratio
    for point in points[1:-1]:
        if point[0] >= least:
            kept.append(point)
            least = point[0] * ratio
    return (*kept, points[-1])


def _stroke(number: int, curve: Curve) -> str:
    dash = _DASHES[number % len(_DASHES)]
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'stroke="currentColor" stroke-width="{3 if curve.chosen else 1.5:g}"{dashed}'
        ' vector-effect="non-scaling-stroke"'
    )


def _percent(value: float) -> str:
    return f"{value:.2f}%"


def _text(value: str) -> str:
    return escape(plain(value))
