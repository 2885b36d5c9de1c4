"""CIEDE2000, the difference between two CIELAB colours."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from artcheck.domain.base import Lab

FloatArray = npt.NDArray[np.floating]

_25_POW_7 = 25.0**7
_TURN = 2 * math.pi


def delta_e_2000(lab1: npt.ArrayLike, lab2: npt.ArrayLike) -> FloatArray:
    """CIEDE2000 with kL = kC = kH = 1.

    Parameters
    ----------
    lab1, lab2
        Float arrays (..., 3) of L* 0-100, a*, b*, broadcast together. Two float32 arrays are
        computed in float32 (error below 0.001), everything else in float64.

    Returns
    -------
    Array (...) of differences, 0 and up.

    Notes
    -----
    Symmetric, not a metric, and discontinuous where two hues are exactly 180 degrees apart: there
    the mean hue jumps by 180 degrees. Hues closer than rounding error to that are the paper's case
    "difference of at most 180 degrees", as in its 14th test pair.

    References
    ----------
    G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 color-difference formula: implementation notes,
    supplementary test data, and mathematical observations", Color Research and Application 30
    (2005), 21-30. The names below are the paper's.
    """
    lab1, lab2 = np.asarray(lab1), np.asarray(lab2)
    dtype = np.result_type(lab1, lab2, np.float32)
    l1, a1, b1 = np.moveaxis(lab1.astype(dtype, copy=False), -1, 0)
    l2, a2, b2 = np.moveaxis(lab2.astype(dtype, copy=False), -1, 0)
    c_bar_7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    one_plus_g = 1.5 - 0.5 * np.sqrt(c_bar_7 / (c_bar_7 + _25_POW_7))
    ap1, ap2 = one_plus_g * a1, one_plus_g * a2
    cp1, cp2 = np.hypot(ap1, b1), np.hypot(ap2, b2)
    d_hp, hp_bar = _hue_terms(np.arctan2(b1, ap1), np.arctan2(b2, ap2), cp1 * cp2)
    return _weighted(l2 - l1, (l1 + l2) / 2, cp2 - cp1, (cp1 + cp2) / 2, d_hp, hp_bar, cp1 * cp2)


def _hue_terms(
    hp1: FloatArray, hp2: FloatArray, chromas: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Difference and mean of two hues in radians (equations 10 and 14)."""
    # Typed constants: a bare one inside np.where would turn float32 into float64.
    turn, half = hp1.dtype.type(_TURN), hp1.dtype.type(math.pi)
    hp1, hp2 = np.where(hp1 < 0, hp1 + turn, hp1), np.where(hp2 < 0, hp2 + turn, hp2)
    d_hp, sum_hp = hp2 - hp1, hp1 + hp2
    # Two antipodal hues come out of atan2 a rounding error more or less than a half turn apart.
    far = np.abs(d_hp) > half + 8 * np.finfo(hp1.dtype).eps
    hp_bar = sum_hp / 2 + far * np.where(sum_hp < turn, half, -half)
    d_hp = d_hp - far * np.copysign(turn, d_hp)
    grey = chromas == 0
    return np.where(grey, 0 * d_hp, d_hp), np.where(grey, sum_hp, hp_bar)


def _weighted(
    d_lp: FloatArray,
    lp_bar: FloatArray,
    d_cp: FloatArray,
    cp_bar: FloatArray,
    d_hp: FloatArray,
    hp_bar: FloatArray,
    chromas: FloatArray,
) -> FloatArray:
    """Equations 11 and 15 to 22: weigh lightness, chroma and hue, and add the rotation."""
    big_d_hp = 2 * np.sqrt(chromas) * np.sin(d_hp / 2)
    t = (
        1
        - 0.17 * np.cos(hp_bar - math.radians(30))
        + 0.24 * np.cos(2 * hp_bar)
        + 0.32 * np.cos(3 * hp_bar + math.radians(6))
        - 0.20 * np.cos(4 * hp_bar - math.radians(63))
    )
    d_theta = math.radians(30) * np.exp(-(((hp_bar - math.radians(275)) / math.radians(25)) ** 2))
    cp_bar_7 = cp_bar**7
    r_t = -np.sin(2 * d_theta) * 2 * np.sqrt(cp_bar_7 / (cp_bar_7 + _25_POW_7))
    from_50 = (lp_bar - 50) ** 2
    lightness = d_lp / (1 + 0.015 * from_50 / np.sqrt(20 + from_50))
    chroma = d_cp / (1 + 0.045 * cp_bar)
    hue = big_d_hp / (1 + 0.015 * cp_bar * t)
    squares = lightness**2 + chroma**2 + hue**2 + r_t * chroma * hue
    return np.asarray(np.sqrt(np.maximum(squares, 0)))


def delta_e_2000_single(lab1: Lab, lab2: Lab) -> float:
    """CIEDE2000 of two colours in plain Python: no array, no import of one.

    Same formula, names and treatment of antipodal hues as `delta_e_2000`, about thirty times
    faster than it for one pair.
    """
    l1, a1, b1 = lab1
    l2, a2, b2 = lab2
    c_bar_7 = ((math.hypot(a1, b1) + math.hypot(a2, b2)) / 2) ** 7
    one_plus_g = 1.5 - 0.5 * math.sqrt(c_bar_7 / (c_bar_7 + _25_POW_7))
    ap1, ap2 = one_plus_g * a1, one_plus_g * a2
    cp1, cp2 = math.hypot(ap1, b1), math.hypot(ap2, b2)
    hp1, hp2 = math.atan2(b1, ap1) % _TURN, math.atan2(b2, ap2) % _TURN
    d_hp, hp_bar = _hue_terms_single(hp1, hp2, cp1 * cp2)
    big_d_hp = 2 * math.sqrt(cp1 * cp2) * math.sin(d_hp / 2)
    cp_bar, from_50 = (cp1 + cp2) / 2, ((l1 + l2) / 2 - 50) ** 2
    t = (
        1
        - 0.17 * math.cos(hp_bar - math.radians(30))
        + 0.24 * math.cos(2 * hp_bar)
        + 0.32 * math.cos(3 * hp_bar + math.radians(6))
        - 0.20 * math.cos(4 * hp_bar - math.radians(63))
    )
    d_theta = math.radians(30) * math.exp(-(((math.degrees(hp_bar) - 275) / 25) ** 2))
    r_t = -2 * math.sin(2 * d_theta) * math.sqrt(cp_bar**7 / (cp_bar**7 + _25_POW_7))
    lightness = (l2 - l1) / (1 + 0.015 * from_50 / math.sqrt(20 + from_50))
    chroma = (cp2 - cp1) / (1 + 0.045 * cp_bar)
    hue = big_d_hp / (1 + 0.015 * cp_bar * t)
    return math.sqrt(max(lightness**2 + chroma**2 + hue**2 + r_t * chroma * hue, 0))


def _hue_terms_single(hp1: float, hp2: float, chromas: float) -> tuple[float, float]:
    """`_hue_terms` for one pair."""
    d_hp, sum_hp = hp2 - hp1, hp1 + hp2
    if chromas == 0:
        return 0.0, sum_hp
    if abs(d_hp) <= math.pi + 8 * 2**-52:
        return d_hp, sum_hp / 2
    hp_bar = sum_hp / 2 + (math.pi if sum_hp < _TURN else -math.pi)
    return d_hp - math.copysign(_TURN, d_hp), hp_bar
