"""ICC output profiles, read from their tags: what colour a CMYK print has.

Only the table from device to colour (A2B) is read, in floating point, and only absolutely: paper
and all. The opposite table (B2A) says what a profile maker chose to do with every colour; in a
profile made of a packaged chart it missed colours that can be printed by 2 to 4 CIEDE2000.

References
----------
ICC.1:2022 (profile version 4.4) and ICC.1:2001-04 (version 2.4); section numbers are the former's.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from artcheck.colour.spaces import lab_to_xyz, xyz_to_lab
from artcheck.errors import ProfileError

FloatArray = npt.NDArray[np.floating]
Curve = Callable[[FloatArray], FloatArray]

_HEADER_BYTES: Final = 128
_D50: Final = (0.9642, 1.0, 0.8249)
"""White of the connection space (7.2.16)."""

_XYZ_FULL: Final = 1 + 32767 / 32768
"""XYZ that the highest 16-bit code stands for (6.3.4.2)."""

_LEGACY_LAB_FULL: Final = 65535 / 65280
"""lut16 keeps version 2's encoding of Lab, where 0xFF00 is 100 % (10.10)."""

_LEAST_DETERMINANT: Final = 0.01
"""Of a cone matrix that can be inverted soundly; Bradford's is 1.03."""

_CLASSES: Final = {
    "scnr": "an input (scanner or camera) profile",
    "mntr": "a display profile",
    "link": "a device link",
    "spac": "a colour space conversion",
    "abst": "an abstract profile",
    "nmcl": "a named colour profile",
}
_SPACES: Final = {"GRAY": "grey", "CMY ": "CMY", "Lab ": "Lab", "XYZ ": "XYZ"}
_PERCEPTUAL: Final = (
    "{} has no colorimetric table (A2B1); its perceptual one (A2B0) was read, whose colours may "
    "have been altered for pleasing pictures."
)


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """A CMYK output profile's colours.

    Attributes
    ----------
    name
        The profile's own description, else the file's name.
    version
        Major and minor version, such as (4, 3).
    curves
        Four curves, 0-1 to 0-1, from tone to place in the table.
    table
        (g0, g1, g2, g3, 3), 0-1, over C, M, Y, K.
    outward
        From table values (..., 3) to encoded connection space values, 0-1.
    space
        ``Lab`` or ``XYZ``: how those are to be understood.
    lab_scale
        Factor of encoded Lab: 1, or that of version 2's 16-bit encoding.
    to_absolute
        (3, 3), from XYZ relative to the paper to XYZ relative to the perfect white.
    warnings
        What a user should know, whole sentences.
    """

    name: str
    version: tuple[int, int]
    curves: tuple[Curve, ...]
    table: FloatArray
    outward: Curve
    space: str
    lab_scale: float
    to_absolute: FloatArray
    warnings: tuple[str, ...] = ()

    def lab_on_grid(self, levels: FloatArray) -> FloatArray:
        """Absolute CIELAB D50 (n, n, n, n, 3) where each ink takes all ``levels`` (n,), 0-1.

        Linear along each axis of the profile's table. (Of two profiles made from a packaged chart,
        this came nearer to its patches than interpolation in simplices: mean CIEDE2000 0.06
        against 0.09 with 9 steps an ink, 0.14 against 0.30 with 5.)

        Raises
        ------
        ProfileError
            Curves or tables that give no finite colour.
        """
        with np.errstate(all="ignore"):  # what is not finite is refused below
            lab = self._absolute_lab(np.clip(self.outward(self._looked_up(levels)), 0, 1))
        if not np.isfinite(lab).all():
            raise ProfileError(f"Profile '{self.name}' gives no finite colours. Export it again.")
        return lab

    def _looked_up(self, levels: FloatArray) -> FloatArray:
        values = self.table
        for axis, curve in enumerate(self.curves):
            across = _linear_weights(np.clip(curve(levels), 0, 1), self.table.shape[axis])
            values = np.moveaxis(np.tensordot(across, values, (1, axis)), 0, axis)
        return values

    def _absolute_lab(self, encoded: FloatArray) -> FloatArray:
        if self.space == "XYZ":
            relative = encoded * _XYZ_FULL
        else:
            lab = encoded * self.lab_scale * [100, 255, 255] - [0, 128, 128]
            relative = lab_to_xyz(lab, _D50)
        return xyz_to_lab(relative @ self.to_absolute.T, _D50)


def _linear_weights(places: FloatArray, nodes: int) -> FloatArray:
    """Weights (n, nodes) that interpolate linearly at places (n,), 0-1, between even nodes."""
    distance = np.abs(places[:, np.newaxis] * (nodes - 1) - np.arange(nodes))
    return np.asarray(np.maximum(1 - distance, 0))


def looks_like_profile(data: bytes) -> bool:
    """Whether the bytes carry the signature of ICC profiles (7.2.2)."""
    return data[36:40] == b"acsp"


def read_profile(data: bytes, file_name: str) -> Profile:
    """Read a CMYK output profile of version 2 or 4.

    Raises
    ------
    ProfileError
        Truncated, damaged, of another class or colour space, or without an A2B table.
    """
    tags = _tags(data, file_name)
    _check_header(data, file_name)
    warnings: tuple[str, ...] = ()
    if "A2B1" not in tags:
        if "A2B0" not in tags:
            raise ProfileError(_no_table(tags, file_name))
        warnings = (_PERCEPTUAL.format(file_name),)
    tag = tags.get("A2B1") or tags["A2B0"]
    kind = tag.word(0)
    reader = {"mft1": _read_lut, "mft2": _read_lut, "mAB ": _read_mab}.get(kind)
    if reader is None:
        raise ProfileError(
            f"The table of {file_name} is of type '{kind}', which artcheck does not read. Export "
            "the profile as version 2 or 4 with lut8, lut16 or lutAToB tables."
        )
    curves, table, outward = reader(tag)
    space = _signature(data[20:24]).strip()
    if kind == "mft1" and space == "XYZ":
        raise ProfileError(
            f"{file_name} has an 8-bit table of XYZ, which the ICC format does not define. Export "
            "the profile with 16-bit tables."
        )
    return Profile(
        name=_name(tags) or file_name,
        version=(data[8], data[9] >> 4),
        curves=curves,
        table=table,
        outward=outward,
        space=space,
        lab_scale=_LEGACY_LAB_FULL if kind == "mft2" else 1.0,
        to_absolute=_to_absolute(tags, file_name),
        warnings=warnings,
    )


@dataclass(frozen=True, slots=True)
class _Tag:
    """The bytes of one tag; every read is checked against their end."""

    data: bytes
    what: str

    def numbers(self, offset: int, dtype: str, count: int) -> npt.NDArray[Any]:
        size = np.dtype(dtype).itemsize * count
        if offset < 0 or offset + size > len(self.data):
            raise ProfileError(f"{self.what} breaks off. Export the profile again.")
        return np.frombuffer(self.data, dtype, count, offset)

    def number(self, offset: int, dtype: str) -> int:
        return int(self.numbers(offset, dtype, 1)[0])

    def fixed(self, offset: int, count: int) -> FloatArray:
        """Numbers of type s15Fixed16 (4.6)."""
        return np.asarray(self.numbers(offset, ">i4", count) / 65536)

    def word(self, offset: int) -> str:
        return _signature(self.numbers(offset, "u1", 4).tobytes())


def _signature(raw: bytes) -> str:
    """Four bytes as characters (4.9), with a question mark for what cannot be shown."""
    return "".join(mark if mark.isprintable() else "?" for mark in raw.decode("latin-1"))


def _tags(data: bytes, file_name: str) -> dict[str, _Tag]:
    """The tag table (7.3), once the file is known to be whole."""
    if len(data) < _HEADER_BYTES + 4 or not looks_like_profile(data):
        raise ProfileError(
            f"{file_name} is no ICC profile, or only the beginning of one. Export it again."
        )
    (told,) = struct.unpack(">I", data[:4])
    if told > len(data):
        raise ProfileError(
            f"{file_name} breaks off: it should have {told} bytes and has {len(data)}. Copy or "
            "export the profile again."
        )
    (count,) = struct.unpack(">I", data[128:132])
    table = _Tag(data, f"The tag table of {file_name}").numbers(132, ">u4", 3 * min(count, 1000))
    tags = {}
    for signature, offset, size in table.reshape(-1, 3).tolist():
        name = _signature(struct.pack(">I", signature))
        if offset + size > len(data):
            raise ProfileError(f"Tag {name} of {file_name} lies outside the file. Export it again.")
        tags[name] = _Tag(data[offset : offset + size], f"Tag {name} of {file_name}")
    return tags


def _check_header(data: bytes, file_name: str) -> None:
    """Refuse what is no CMYK output profile of version 2 or 4 (7.2)."""
    kind, space, connection = (_signature(data[at : at + 4]) for at in (12, 16, 20))
    if kind != "prtr":
        what = _CLASSES.get(kind, f"a profile of unknown class '{kind}'")
        raise ProfileError(f"{file_name} is {what}. Give the printer's output profile.")
    if space != "CMYK":
        found = _SPACES.get(space, space.strip())
        raise ProfileError(
            f"{file_name} is a profile for {found} devices, not for CMYK. Give the CMYK profile of "
            "the printer."
        )
    if data[8] not in (2, 4):
        raise ProfileError(f"{file_name} is of ICC version {data[8]}. Export it as version 2 or 4.")
    if connection not in ("Lab ", "XYZ "):
        raise ProfileError(
            f"{file_name} connects to '{connection.strip()}', not to Lab or XYZ. Export it again."
        )


def _no_table(tags: dict[str, _Tag], file_name: str) -> str:
    """Why a profile without A2B0 and A2B1 is of no use."""
    if any(name.startswith("B2A") for name in tags):
        return (
            f"{file_name} only tells which inks to print for a colour (B2A), not what colour the "
            "inks have (A2B). Export it with both directions."
        )
    return f"{file_name} holds no table from CMYK to colour (A2B1). Export it with one."


def _to_absolute(tags: dict[str, _Tag], file_name: str) -> FloatArray:
    """Absolute colorimetric by the media white (6.3.2.2): a factor for each of X, Y, Z.

    Profiles made with ArgyllCMS are scaled in the cone space that their private tag ``arts`` (in
    the ICC's registry of signatures) holds as a matrix, and must be scaled back there.
    """
    cones: FloatArray = np.eye(3)
    if "arts" in tags:
        cones = tags["arts"].fixed(8, 9).reshape(3, 3)
        if abs(np.linalg.det(cones)) < _LEAST_DETERMINANT:
            raise ProfileError(f"Tag arts of {file_name} is damaged. Export the profile again.")
    white = _media_white(tags, file_name)
    gains = (cones @ white) / (cones @ _D50)
    return np.asarray(np.linalg.solve(cones, gains[:, np.newaxis] * cones))


def _media_white(tags: dict[str, _Tag], file_name: str) -> FloatArray:
    """XYZ of the paper (9.2.36)."""
    if "wtpt" not in tags:
        raise ProfileError(
            f"{file_name} does not tell its paper's white (tag wtpt). Export the profile again."
        )
    white = tags["wtpt"].fixed(8, 3)
    if white.min() <= 0 or white.max() > _XYZ_FULL:
        raise ProfileError(
            f"{file_name} gives its paper the impossible white XYZ {white.round(3).tolist()}. "
            "Export the profile again."
        )
    return white


def _name(tags: dict[str, _Tag]) -> str:
    """The profile's description in plain characters: version 2 text or version 4 multi-language."""
    tag = tags.get("desc")
    if tag is None:
        return ""
    if tag.word(0) == "mluc" and tag.number(8, ">u4"):
        length, offset = tag.number(20, ">u4"), tag.number(24, ">u4")
        raw = tag.numbers(offset, "u1", length).tobytes().decode("utf-16-be", errors="replace")
    elif tag.word(0) == "desc":
        raw = tag.numbers(12, "u1", tag.number(8, ">u4")).tobytes().decode("latin-1")
    else:
        return ""
    return " ".join("".join(mark if mark.isprintable() else " " for mark in raw).split())


def _check_channels(tag: _Tag) -> None:
    inward, outward = tag.number(8, "u1"), tag.number(9, "u1")
    if (inward, outward) != (4, 3):
        raise ProfileError(
            f"{tag.what} goes from {inward} to {outward} channels, not from CMYK's 4 to 3. Export "
            "the profile again."
        )


def _check_grid(tag: _Tag, grid: tuple[int, ...]) -> None:
    if min(grid) < 2:
        raise ProfileError(f"{tag.what} has fewer than 2 steps of an ink. Export it again.")


def _read_lut(tag: _Tag) -> tuple[tuple[Curve, ...], FloatArray, Curve]:
    """Tables of type lut8 and lut16 (10.11 and 10.10); their matrix is for XYZ input only."""
    _check_channels(tag)
    dtype, full, start, entries = "u1", 255.0, 48, (256, 256)
    if tag.word(0) == "mft2":
        dtype, full, start = ">u2", 65535.0, 52
        entries = tag.number(48, ">u2"), tag.number(50, ">u2")
    if min(entries) < 2:
        raise ProfileError(f"{tag.what} has a curve of fewer than 2 points. Export it again.")
    steps = tag.number(10, "u1")
    _check_grid(tag, (steps,))
    counts = (4 * entries[0], steps**4 * 3, 3 * entries[1])
    values = tag.numbers(start, dtype, sum(counts)) / full
    inward, table, outward = np.split(values, np.cumsum(counts)[:2])
    ends = tuple(_sampled(curve) for curve in outward.reshape(3, -1))
    return (
        tuple(_sampled(curve) for curve in inward.reshape(4, -1)),
        table.reshape((steps,) * 4 + (3,)),
        lambda values: _each(ends, values),
    )


def _sampled(samples: FloatArray) -> Curve:
    """A curve through even samples, linear in between."""
    places = np.linspace(0, 1, len(samples))
    return lambda values: np.interp(values, places, samples)


def _each(curves: tuple[Curve, ...], values: FloatArray) -> FloatArray:
    """One curve for each of the last axis' channels."""
    channels = [curve(values[..., index]) for index, curve in enumerate(curves)]
    return np.stack(channels, axis=-1)


def _read_mab(tag: _Tag) -> tuple[tuple[Curve, ...], FloatArray, Curve]:
    """Tables of type lutAToB (10.12): A curves, table, M curves, matrix, B curves."""
    _check_channels(tag)
    at_b, at_matrix, at_m, at_table, at_a = tag.numbers(12, ">u4", 5).tolist()
    if not (at_b and at_table and at_a):
        raise ProfileError(
            f"{tag.what} lacks curves or table that four inks need. Export the profile again."
        )
    grid = tuple(tag.numbers(at_table, "u1", 4).tolist())
    _check_grid(tag, grid)
    wide = tag.number(at_table + 16, "u1") == 2
    dtype, full = (">u2", 65535.0) if wide else ("u1", 255.0)
    count = int(np.prod(grid)) * 3
    table = tag.numbers(at_table + 20, dtype, count) / full
    stages: list[Curve] = []
    if at_m and at_matrix:
        stages = [_curves_stage(tag, at_m), _matrix_stage(tag, at_matrix)]
    stages.append(_curves_stage(tag, at_b))
    return _curves(tag, at_a, 4), table.reshape((*grid, 3)), lambda values: _through(stages, values)


def _through(stages: list[Curve], values: FloatArray) -> FloatArray:
    for stage in stages:
        values = np.clip(stage(values), 0, 1)
    return values


def _curves_stage(tag: _Tag, offset: int) -> Curve:
    curves = _curves(tag, offset, 3)
    return lambda values: _each(curves, values)


def _matrix_stage(tag: _Tag, offset: int) -> Curve:
    numbers = tag.fixed(offset, 12)
    matrix, constant = numbers[:9].reshape(3, 3), numbers[9:]
    return lambda values: values @ matrix.T + constant


def _curves(tag: _Tag, offset: int, count: int) -> tuple[Curve, ...]:
    """Curves one after the other, each padded to four bytes."""
    curves = []
    for _ in range(count):
        curve, size = _curve(tag, offset)
        curves.append(curve)
        offset += size + -size % 4
    return tuple(curves)


def _curve(tag: _Tag, offset: int) -> tuple[Curve, int]:
    """A curve of type curv (10.6) or para (10.18), and its length in bytes."""
    kind = tag.word(offset)
    if kind == "para":
        return _parametric(tag, offset)
    if kind != "curv":
        raise ProfileError(f"{tag.what} has a curve of unknown type '{kind}'. Export it again.")
    count = tag.number(offset + 8, ">u4")
    samples = tag.numbers(offset + 12, ">u2", count)
    size = 12 + 2 * count
    if count == 0:
        return (lambda values: values), size
    if count == 1:
        return _power(float(samples[0]) / 256), size
    return _sampled(samples / 65535), size


def _power(gamma: float) -> Curve:
    return lambda values: np.maximum(values, 0) ** gamma


_PARAMETERS: Final = (1, 3, 4, 5, 7)


def _parametric(tag: _Tag, offset: int) -> tuple[Curve, int]:
    """Functions 0 to 4 of table 68: Y = (aX + b)^g + e from d upward, cX + f below."""
    kind = tag.number(offset + 8, ">u2")
    if kind >= len(_PARAMETERS):
        raise ProfileError(f"{tag.what} has a curve of unknown function {kind}. Export it again.")
    given = tag.fixed(offset + 12, _PARAMETERS[kind])
    size = 12 + 4 * len(given)
    g, a, b, c, d, e, f = _named(kind, given.tolist())

    def curve(values: FloatArray) -> FloatArray:
        above = np.maximum(a * values + b, 0) ** g + e
        return np.where(values >= d, above, c * values + f)

    return curve, size


def _named(kind: int, given: list[float]) -> tuple[float, ...]:
    """The seven parameters g, a, b, c, d, e, f of any of the five functions."""
    g, a, b, c, d, e, f = (*given, *(0.0,) * (7 - len(given)))
    if kind == 0:
        return g, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0
    if kind == 1:  # from -b/a upward, 0 below
        return g, a, b, 0.0, -b / a if a else 0.0, 0.0, 0.0
    if kind == 2:  # c is added on both sides of -b/a
        return g, a, b, 0.0, -b / a if a else 0.0, c, c
    return g, a, b, c, d, e, f
