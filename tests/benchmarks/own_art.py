"""Own drawings of what the drawn sets lack: stripes with emblems, outlines, lettering, badges.

Each maker gives the inside of an SVG page of 100 x 100 units; fills are solid. Letters come from a
real font of the system, written as text, so that without it a drawing has no letters.
"""

from __future__ import annotations

import colorsys
import math
import random
from collections.abc import Callable

from tests.benchmarks.drawn_sets import Drawing

Chance = random.Random

FONT = "DejaVu Sans"


def _hex(chance: Chance) -> str:
    """A colour as designers choose them: strong, pale, dark or neutral."""
    kind = chance.random()
    hue = chance.random()
    if kind < 0.5:
        rgb = colorsys.hsv_to_rgb(hue, chance.uniform(0.6, 1), chance.uniform(0.6, 1))
    elif kind < 0.7:
        rgb = colorsys.hsv_to_rgb(hue, chance.uniform(0.15, 0.5), chance.uniform(0.8, 1))
    elif kind < 0.85:
        rgb = colorsys.hsv_to_rgb(hue, chance.uniform(0.4, 1), chance.uniform(0.15, 0.45))
    else:
        grey = chance.choice([0.0, 0.1, 0.3, 0.5, 0.75, 1.0])
        rgb = (grey, grey, grey)
    return "#" + "".join(f"{round(255 * part):02x}" for part in rgb)


def _palette(chance: Chance, count: int) -> list[str]:
    return [_hex(chance) for _ in range(count)]


def _star(x: float, y: float, radius: float, points: int, turn: float, inner: float = 0.4) -> str:
    corners = []
    for i in range(2 * points):
        r = radius * (inner if i % 2 else 1)
        angle = turn + math.pi * i / points
        corners.append(f"{x + r * math.sin(angle):.2f},{y - r * math.cos(angle):.2f}")
    return " ".join(corners)


def _emblem(chance: Chance, x: float, y: float, size: float, colours: list[str]) -> str:
    """Small shapes of several colours, some outlined."""
    parts = []
    for _ in range(chance.randint(3, 9)):
        px, py = chance.gauss(x, size / 3), chance.gauss(y, size / 3)
        r = size * chance.uniform(0.06, 0.3)
        fill = chance.choice(colours)
        edge = ""
        if chance.random() < 0.4:
            edge = f' stroke="{chance.choice(colours)}" stroke-width="{r * 0.15:.2f}"'
        shape = chance.random()
        if shape < 0.35:
            parts.append(f'<circle cx="{px:.2f}" cy="{py:.2f}" r="{r:.2f}" fill="{fill}"{edge}/>')
        elif shape < 0.7:
            points = _star(px, py, r, chance.randint(3, 8), chance.random() * 6)
            parts.append(f'<polygon points="{points}" fill="{fill}"{edge}/>')
        else:
            parts.append(
                f'<path d="M{px - r:.2f} {py:.2f}q{r:.2f} {-2 * r:.2f} {2 * r:.2f} 0t{r:.2f} '
                f'{r:.2f}z" fill="{fill}"{edge}/>'
            )
    return "".join(parts)


def flag(chance: Chance) -> str:
    """Stripes, perhaps a canton or a hoist triangle, and an emblem."""
    colours = _palette(chance, chance.randint(3, 7))
    stripes = chance.choice([2, 3, 3, 5, 9])
    first = colours[: max(2, min(3, len(colours)))]
    across = chance.random() < 0.5
    parts = []
    for i in range(stripes):
        size = (90 / stripes) if across else (60 / stripes)
        fill = first[i % len(first)]
        if across:
            parts.append(
                f'<path fill="{fill}" '
                f'd="M{i * size:.2f} 0h{size + 0.01:.2f}v60h-{size + 0.01:.2f}z"/>'
            )
        else:
            parts.append(f'<path fill="{fill}" d="M0 {i * size:.2f}h90v{size + 0.01:.2f}h-90z"/>')
    if chance.random() < 0.4:
        parts.append(f'<path fill="{chance.choice(colours)}" d="M0 0l40 30L0 60z"/>')
    parts.append(_emblem(chance, chance.choice([20, 45]), 30, chance.uniform(12, 26), colours))
    return f'<g transform="translate(5 20)">{"".join(parts)}</g>'


def outlined(chance: Chance) -> str:
    """Shapes filled in several colours under outlines of one dark ink, as in comics."""
    colours = _palette(chance, chance.randint(2, 6))
    dark = chance.choice(["#000000", "#231f20", "#1b2a41", "#3b1f2b"])
    width = chance.uniform(0.7, 2.5)
    parts = []
    for _ in range(chance.randint(4, 9)):
        x, y, r = chance.uniform(20, 80), chance.uniform(20, 80), chance.uniform(5, 22)
        fill = chance.choice(colours)
        edge = f'stroke="{dark}" stroke-width="{width:.2f}" stroke-linejoin="round"'
        if chance.random() < 0.5:
            parts.append(f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{r:.2f}" fill="{fill}" {edge}/>')
        else:
            points = _star(x, y, r, chance.randint(3, 9), chance.random() * 6, 0.6)
            parts.append(f'<polygon points="{points}" fill="{fill}" {edge}/>')
    for _ in range(chance.randint(1, 4)):
        x, y = chance.uniform(15, 60), chance.uniform(15, 80)
        parts.append(
            f'<path d="M{x:.2f} {y:.2f}q{chance.uniform(-20, 20):.2f} '
            f"{chance.uniform(-20, 20):.2f} "
            f'{chance.uniform(10, 30):.2f} {chance.uniform(-10, 10):.2f}" fill="none" '
            f'stroke="{chance.choice([dark, *colours])}" stroke-width="{width:.2f}"/>'
        )
    return "".join(parts)


def lettering(chance: Chance) -> str:
    """A line or two of letters, some with an outline or a drop shadow."""
    colours = _palette(chance, chance.randint(2, 4))
    words = ["RIVER", "Oak &amp; Co", "TEAM 24", "Harbour", "QUARRY", "est. 1987", "Bluebird"]
    parts = []
    for line in range(chance.randint(1, 3)):
        y, size = 28 + 26 * line, chance.uniform(10, 20)
        word = chance.choice(words)
        fill, other = chance.choice(colours), chance.choice(colours)
        weight = chance.choice(["400", "700"])
        style = f'font-family="{FONT}" font-weight="{weight}" font-size="{size:.1f}"'
        if chance.random() < 0.4:
            parts.append(f'<text x="7" y="{y + 1:.1f}" {style} fill="{other}">{word}</text>')
        edge = ""
        if chance.random() < 0.4:
            edge = f' stroke="{other}" stroke-width="{size * 0.05:.2f}"'
        parts.append(f'<text x="6" y="{y}" {style} fill="{fill}"{edge}>{word}</text>')
    if chance.random() < 0.5:
        parts.insert(0, f'<rect x="3" y="6" width="94" height="88" rx="6" fill="{_hex(chance)}"/>')
    return "".join(parts)


def badge(chance: Chance) -> str:
    """Rings, rays and an emblem, with thin keylines."""
    colours = _palette(chance, chance.randint(2, 6))
    parts = []
    radius = 46.0
    while radius > 16:
        fill = chance.choice(colours)
        edge = f' stroke="{chance.choice(colours)}" stroke-width="{chance.uniform(0.3, 1.5):.2f}"'
        parts.append(f'<circle cx="50" cy="50" r="{radius:.2f}" fill="{fill}"{edge}/>')
        radius -= chance.uniform(1, 12)
    rays = chance.randint(8, 24)
    fill = chance.choice(colours)
    parts.append(f'<polygon points="{_star(50, 50, 30, rays, 0, 0.7)}" fill="{fill}"/>')
    parts.append(_emblem(chance, 50, 50, 26, colours))
    return "".join(parts)


MAKERS: dict[str, Callable[[Chance], str]] = {
    "own-flags": flag,
    "own-outlined": outlined,
    "own-lettering": lettering,
    "own-badges": badge,
}
HELD_OUT_FROM = 1000
"""Seeds from here on are never looked at while tuning."""


def own_sample(kind: str, count: int, *, held_out: bool, seed: int = 0) -> list[Drawing]:
    """``count`` own drawings of one kind."""
    first = (HELD_OUT_FROM if held_out else 0) + 200 * seed
    return [
        Drawing(kind, f"{kind}-{i}", MAKERS[kind](random.Random(f"{kind}/{i}")), (100, 100))
        for i in range(first, first + count)
    ]
