"""Colours and colour spaces: sRGB, CIELAB, CIEXYZ, and the words people name colours with.

Everything inside artcheck is CIELAB under illuminant D50 for the 2 degree observer, the space of
print measurement (ISO 13655). Colours of another white are adapted with Bradford.

The array kernels are our own. colormath converts the single colours that a person names; what it
gets wrong is closed off in `_to_d50`.
"""

from __future__ import annotations

import math
import re
import warnings
from collections.abc import Mapping
from typing import Final

import numpy as np
import numpy.typing as npt

from artcheck.domain.base import Lab
from artcheck.errors import ColourTextError

FloatArray = npt.NDArray[np.floating]

D50_WHITE: Final = (0.96422, 1.0, 0.82521)
D65_WHITE: Final = (0.95047, 1.0, 1.08883)
"""Whites for the 2 degree observer, Y = 1 (ASTM E308-01, table 5)."""

_EPSILON: Final = 216 / 24389
_KAPPA: Final = 24389 / 27
"""Where CIELAB turns linear, as exact fractions (CIE 15:2018, equations 8.6 to 8.11)."""

_BRADFORD: Final = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
"""XYZ to sharpened cone responses (ICC.1:2022, annex E)."""

LUMA: Final = (0.299, 0.587, 0.114)
"""Weights of red, green and blue in the light that JPEG keeps (ITU-R BT.601)."""

_SRGB_PRIMARIES: Final = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
"""x, y of red, green, blue (IEC 61966-2-1)."""


def bradford_matrix(
    from_white: tuple[float, float, float], to_white: tuple[float, float, float]
) -> FloatArray:
    """The (3, 3) matrix M that adapts XYZ: ``xyz_to = M @ xyz_from``.

    References
    ----------
    ICC.1:2022, annex E, linear Bradford.
    """
    gains = (_BRADFORD @ to_white) / (_BRADFORD @ from_white)
    return np.asarray(np.linalg.inv(_BRADFORD) @ (gains[:, np.newaxis] * _BRADFORD))


def _srgb_matrix() -> FloatArray:
    """Linear sRGB 0-1 to XYZ under D50, as (3, 3) for column vectors."""
    x, y = _SRGB_PRIMARIES.T
    primaries = np.array([x / y, np.ones(3), (1 - x - y) / y])
    under_d65 = primaries * np.linalg.solve(primaries, np.array(D65_WHITE))
    return np.asarray(bradford_matrix(D65_WHITE, D50_WHITE) @ under_d65)


def linearised(encoded: FloatArray) -> FloatArray:
    """The sRGB transfer function, both 0-1 (IEC 61966-2-1)."""
    return np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)


def encoded_light(linear: FloatArray) -> FloatArray:
    """Its inverse; negative light stays on the linear part."""
    power = 1.055 * np.maximum(linear, 0) ** (1 / 2.4) - 0.055
    return np.where(linear <= 0.0031308, 12.92 * linear, power)


_RGB_TO_XYZ: Final = _srgb_matrix()
_XYZ_TO_RGB: Final = np.linalg.inv(_RGB_TO_XYZ)
_LINEAR_OF_CODE: Final = linearised(np.arange(256) / 255)
_BLOCK: Final = 1 << 15
"""Pixels converted at a time: their temporaries stay in a processor's cache."""


def xyz_to_lab(xyz: npt.ArrayLike, white: tuple[float, float, float] = D50_WHITE) -> FloatArray:
    """CIEXYZ (..., 3), white Y = 1, to CIELAB relative to ``white``. Keeps float32.

    References
    ----------
    CIE 15:2018, section 8.2.1.1.
    """
    values = np.asarray(xyz)
    values = values.astype(np.result_type(values, np.float32), copy=False)
    ratio: FloatArray = values / np.asarray(white, values.dtype)
    f = _cube_root(ratio)
    lab = np.empty_like(f)
    lab[..., 0] = 116 * f[..., 1] - 16
    lab[..., 1] = 500 * (f[..., 0] - f[..., 1])
    lab[..., 2] = 200 * (f[..., 1] - f[..., 2])
    return lab


def lab_to_xyz(lab: npt.ArrayLike, white: tuple[float, float, float] = D50_WHITE) -> FloatArray:
    """CIELAB (..., 3) to CIEXYZ with white Y = 1. Keeps float32."""
    values = np.asarray(lab)
    values = values.astype(np.result_type(values, np.float32), copy=False)
    f = np.empty_like(values)
    f[..., 1] = (values[..., 0] + 16) / 116
    f[..., 0] = f[..., 1] + values[..., 1] / 500
    f[..., 2] = f[..., 1] - values[..., 2] / 200
    ratio = np.where(f**3 > _EPSILON, f**3, (116 * f - 16) / _KAPPA)
    return np.asarray(ratio * np.asarray(white, values.dtype))


def srgb8_to_lab(rgb: npt.NDArray[np.uint8], dtype: npt.DTypeLike = np.float32) -> FloatArray:
    """Codes of sRGB, uint8 (..., 3), to CIELAB D50, ``dtype`` (..., 3).

    In float32 the result is within 0.0005 of float64.

    References
    ----------
    IEC 61966-2-1 (sRGB), D65 adapted to D50 with Bradford.
    """
    codes = np.asarray(rgb, np.uint8).reshape(-1, 3)
    table = _LINEAR_OF_CODE.astype(dtype)
    matrix = (_RGB_TO_XYZ / np.array(D50_WHITE)[:, np.newaxis]).astype(dtype)
    lab = np.empty(codes.shape, dtype)
    for start in range(0, len(codes), _BLOCK):
        block = slice(start, start + _BLOCK)
        # A plane a channel: five times as fast as a row a pixel.
        x, y, z = _cube_root(matrix @ table[codes[block].T])
        lab[block, 0] = 116 * y - 16
        lab[block, 1] = 500 * (x - y)
        lab[block, 2] = 200 * (y - z)
    return lab.reshape(np.shape(rgb))


def _cube_root(ratio: FloatArray) -> FloatArray:
    """CIELAB's function f of XYZ over white: a cube root, linear near black."""
    root: FloatArray = np.cbrt(ratio)
    dark = ratio <= _EPSILON
    root[dark] = (_KAPPA * ratio[dark] + 16) / 116
    return root


def _lab_to_encoded(lab: npt.ArrayLike) -> FloatArray:
    """CIELAB D50 to encoded sRGB, unclipped: 0-1 inside the gamut."""
    xyz = lab_to_xyz(lab)
    return encoded_light(xyz @ _XYZ_TO_RGB.T.astype(xyz.dtype))


def lab_to_srgb8(lab: npt.ArrayLike) -> npt.NDArray[np.uint8]:
    """CIELAB D50 (..., 3) to the nearest sRGB codes, each channel clipped to 0-255.

    A clipped colour is no longer the colour asked for: `in_srgb` tells.
    """
    codes = np.rint(255 * np.clip(_lab_to_encoded(lab), 0, 1))
    return np.asarray(codes, np.uint8)


def in_srgb(lab: npt.ArrayLike) -> npt.NDArray[np.bool_]:
    """Whether a screen's sRGB holds the colour: shape (..., 3) to (...).

    True where no channel is more than half an 8-bit code outside 0-255, so that rounding alone
    brings it in.
    """
    codes = 255 * _lab_to_encoded(lab)
    return np.asarray(np.all((codes > -0.5) & (codes < 255.5), axis=-1))


def lab_to_hex(lab: Lab) -> str:
    """One colour as ``#rrggbb``, clipped to sRGB."""
    red, green, blue = lab_to_srgb8(lab).tolist()
    return f"#{red:02x}{green:02x}{blue:02x}"


def hex_to_lab(text: str) -> Lab:
    """``#rrggbb`` or ``#rgb`` to CIELAB D50.

    Raises
    ------
    ColourTextError
        The text is not a hex colour of three or six digits.
    """
    digits = text.strip().removeprefix("#")
    if not re.fullmatch(r"[0-9a-fA-F]+", digits) or len(digits) not in (3, 6):
        raise ColourTextError(
            f"'{text.strip()}' is no hex colour. Write # and three or six digits of 0-9 and a-f, "
            "like #f60 or #ff6600."
        )
    if len(digits) == 3:
        digits = "".join(digit * 2 for digit in digits)
    return _lab_of_rgb([float(code) for code in bytes.fromhex(digits)])


def hex_to_srgb8(text: str) -> tuple[int, int, int]:
    """Codes of ``#rrggbb``, as the project itself writes it (`hex_to_lab` takes what people do)."""
    red, green, blue = bytes.fromhex(text.removeprefix("#"))
    return red, green, blue


def _lab_of_rgb(codes: list[float]) -> Lab:
    linear = linearised(np.array(codes) / 255)
    return _as_lab(xyz_to_lab(_RGB_TO_XYZ @ linear))


def _as_lab(values: FloatArray) -> Lab:
    lightness, a, b = (round(float(value), _LAB_DIGITS) + 0.0 for value in values)
    return lightness, a, b


_LAB_DIGITS: Final = 4
"""Digits kept of a single colour: a hundred times finer than any instrument reads."""


def relative_luminance(lab: Lab) -> float:
    """Relative luminance Y, 0 black to 1 the perfect white, from L* alone."""
    lightness = max(lab[0], 0.0)
    f = (lightness + 16) / 116
    return f**3 if f**3 > _EPSILON else lightness / _KAPPA


def contrast_ratio(lab1: Lab, lab2: Lab) -> float:
    """Contrast ratio 1-21 of two colours, in either order.

    Luminance is taken from L*, as measured on the cloth, rather than from sRGB codes: inks outside
    a screen's range would be clipped on the way.

    References
    ----------
    W3C, Web Content Accessibility Guidelines 2.2, definitions "contrast ratio" and "relative
    luminance".
    """
    darker, lighter = sorted((relative_luminance(lab1), relative_luminance(lab2)))
    return (lighter + 0.05) / (darker + 0.05)


ILLUMINANTS: Final = ("A", "C", "D50", "D55", "D65", "D75", "E", "F2", "F7", "F11")
"""Whites that a colour may name, for the 2 degree observer (those colormath holds)."""

_HEX = re.compile(r"#\s*[0-9a-z]*", re.IGNORECASE)
_CALL = re.compile(r"(rgb|lab|lch|xyz|xyy)\s*\(([^()]*)\)\s*(\S*)", re.IGNORECASE)
_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:e[+-]?\d+)?", re.IGNORECASE)
_WAYS: Final = (
    "Write #rrggbb, rgb(r g b), lab(L a b), lch(L C h), xyz(X Y Z) or xyY(x y Y), "
    "with an illuminant such as D65 inside the brackets where it is not D50"
)
_PER_SHARE: Final = 1.25
"""XYZ with no value above this are on the scale where white has Y = 1, others on that where it has
100: the largest value of a white on the first scale is D75's Z of 1.226."""


def parse_colour(text: str, stock: Mapping[str, Lab] | None = None) -> Lab:
    """Read a colour as people write it, and adapt it to CIELAB D50.

    Parameters
    ----------
    text
        ``#rgb``, ``#rrggbb`` or ``rgb(r g b)`` (sRGB, 0-255); ``lab(L a b)``, ``lch(L C h)``,
        ``xyz(X Y Z)``, ``xyY(x y Y)``, with commas or spaces and an optional illuminant, inside
        the brackets or after them (D50 where none is named, as in graphic arts); or the name of a
        stock ink. XYZ and Y may be on the scale 0-1 or 0-100.
    stock
        Names of inks and their colours; upper and lower case are the same.

    Raises
    ------
    ColourTextError
        The text names no colour, or one that cannot exist.
    """
    wanted = " ".join(text.replace("\N{MINUS SIGN}", "-").split())
    named = {_key(name): lab for name, lab in (stock or {}).items()}
    if _key(wanted) in named:
        return named[_key(wanted)]
    if _HEX.fullmatch(wanted):
        return hex_to_lab(wanted)
    call = _CALL.fullmatch(wanted)
    if call is None:
        raise ColourTextError(_unknown(wanted, tuple(stock or ())))
    return _called(wanted, call[1].lower(), f"{call[2]} {call[3]}")


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()


def _unknown(wanted: str, names: tuple[str, ...]) -> str:
    """What to say of words that are no colour, with the nearest thing that is."""
    if not wanted:
        return f"The colour is empty. {_WAYS}."
    if re.fullmatch(r"[0-9a-f]{3}|[0-9a-f]{6}", wanted, re.IGNORECASE):
        return f"'{wanted}' names no colour. Did you mean #{wanted}?"
    near = _nearest(wanted, names)
    if near:
        return f"'{wanted}' names no colour. Did you mean {near}?"
    return f"'{wanted}' names no colour. {_WAYS}{', or the name of a stock ink' if names else ''}."


def _nearest(word: str, names: tuple[str, ...]) -> str | None:
    from difflib import get_close_matches

    by_key = {_key(name): name for name in names}
    found = get_close_matches(_key(word), by_key, n=1)
    return by_key[found[0]] if found else None


def _called(wanted: str, space: str, inside: str) -> Lab:
    """A colour written as a function: three numbers and perhaps an illuminant."""
    words = inside.replace(",", " ").split()
    numbers = [float(word) for word in words if _NUMBER.fullmatch(word)]
    others = [word for word in words if not _NUMBER.fullmatch(word)]
    if len(numbers) != 3 or len(others) > 1:
        raise ColourTextError(
            f"'{wanted}' needs three numbers and at most one illuminant. {_WAYS}."
        )
    illuminant = _illuminant(wanted, others[0]) if others else None
    _check_range(wanted, space, numbers)
    if space == "rgb":
        return _called_rgb(wanted, numbers, illuminant)
    return _to_d50(space, numbers, illuminant or "D50")


def _illuminant(wanted: str, word: str) -> str:
    if word.upper() in ILLUMINANTS:
        return word.upper()
    near = _nearest(word, ILLUMINANTS)
    hint = f"Did you mean {near}?" if near else f"Known are {', '.join(ILLUMINANTS)} (2 degrees)."
    raise ColourTextError(f"'{word}' in '{wanted}' is no illuminant. {hint}")


_RANGES: Final = {
    "rgb": (("red", 0, 255), ("green", 0, 255), ("blue", 0, 255)),
    "lab": (("L*", 0, 100), ("a*", -200, 200), ("b*", -200, 200)),
    "lch": (("L*", 0, 100), ("C*", 0, 200), ("h", -360, 360)),
    "xyz": (("X", 0, 125), ("Y", 0, 100), ("Z", 0, 125)),
    "xyy": (("x", 0, 1), ("y", 0.0001, 1), ("Y", 0, 100)),
}
"""Limits of what a surface can show; for a* and b* well outside the solid of object colours."""


def _check_range(wanted: str, space: str, numbers: list[float]) -> None:
    for (name, low, high), number in zip(_RANGES[space], numbers, strict=True):
        if not low <= number <= high:
            raise ColourTextError(
                f"{name} in '{wanted}' is {number:g}, outside {low:g} to {high:g}. Correct it."
            )


def _called_rgb(wanted: str, numbers: list[float], illuminant: str | None) -> Lab:
    if illuminant not in (None, "D65"):
        raise ColourTextError(
            f"'{wanted}' puts sRGB under {illuminant}, but its white is D65 by definition. "
            "Leave the illuminant out."
        )
    return _lab_of_rgb(numbers)


def _to_d50(space: str, numbers: list[float], illuminant: str) -> Lab:
    """Convert with colormath by way of XYZ, adapting explicitly.

    Its ``target_illuminant`` is ignored unless the source is RGB, so that a plain conversion of a
    D65 colour would come out as Lab under D65, unadapted and unannounced.
    """
    if illuminant == "D50" and space in ("lab", "lch"):  # nothing to convert but polar to plane
        lightness, a, b = numbers
        if space == "lch":
            a, b = a * math.cos(math.radians(b)), a * math.sin(math.radians(b))
        return _as_lab(np.array([lightness, a, b]))
    with warnings.catch_warnings():
        # colormath 3.0 writes "\\*" in plain strings, of which Python warns on compiling them.
        warnings.simplefilter("ignore")
        from colormath.chromatic_adaptation import apply_chromatic_adaptation_on_color
        from colormath.color_conversions import convert_color
        from colormath.color_objects import LabColor, LCHabColor, XYZColor, xyYColor

    kinds = {"lab": LabColor, "lch": LCHabColor, "xyz": XYZColor, "xyy": xyYColor}
    scaled = _scaled_to_one(space, numbers)
    colour = kinds[space](*scaled, observer="2", illuminant=illuminant.lower())
    xyz = convert_color(colour, XYZColor)
    if illuminant != "D50":
        xyz = apply_chromatic_adaptation_on_color(xyz, "d50", adaptation="bradford")
    return _possible(_as_lab(xyz_to_lab(np.array(xyz.get_value_tuple()))), numbers)


def _possible(lab: Lab, numbers: list[float]) -> Lab:
    """The colour, if a surface could show it (three free XYZ can lie far outside)."""
    if all(low <= value <= high for (_, low, high), value in zip(_RANGES["lab"], lab, strict=True)):
        return lab
    given = " ".join(f"{number:g}" for number in numbers)
    raise ColourTextError(
        f"{given} would be L* {lab[0]:.0f}, a* {lab[1]:.0f}, b* {lab[2]:.0f}, which no surface can "
        "show. Check the numbers and their order."
    )


def _scaled_to_one(space: str, numbers: list[float]) -> list[float]:
    """XYZ and Y on the scale where white has Y = 1."""
    if space == "xyz" and max(numbers) > _PER_SHARE:
        return [number / 100 for number in numbers]
    if space == "xyy" and numbers[2] > 1:
        return [*numbers[:2], numbers[2] / 100]
    return numbers
