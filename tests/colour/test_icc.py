"""The profile reader: against profiles of known content, littleCMS and ArgyllCMS; refusals."""

from __future__ import annotations

import io
import shutil
import subprocess
from itertools import product
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms

from artcheck.colour.chart import Chart
from artcheck.colour.difference import delta_e_2000
from artcheck.colour.icc import Profile, read_profile
from artcheck.colour.print_model import read_print_model
from artcheck.errors import ProfileError
from tests.colour import profiles

Array = npt.NDArray[np.float64]

STEPS = 5
LEVELS = np.linspace(0, 1, STEPS)
STRAIGHT = np.linspace(0, 1, 256)
CURVES, ENDS = np.tile(STRAIGHT, (4, 1)), np.tile(STRAIGHT, (3, 1))
WHITE = np.array(profiles.WHITE) / profiles.D50


def relative_lab() -> Array:
    """A made-up print, CIELAB relative to its paper, (5, 5, 5, 5, 3); all its XYZ are positive."""
    c, m, y, k = np.meshgrid(*[LEVELS] * 4, indexing="ij")
    light = 100 * (1 - 0.42 * c) * (1 - 0.5 * m) * (1 - 0.08 * y) * (1 - 0.85 * k)
    a = (-37 * c + 74 * m - 5 * y) * light / 100
    b = (-46 * c - 4 * m + 93 * y) * light / 100
    return np.stack([light, a, b], axis=-1)


def relative_xyz(lab: Array) -> Array:
    """CIE 15:2018, section 8.2.1, with the white of the connection space."""
    fy = (lab[..., 0] + 16) / 116
    f = np.stack([fy + lab[..., 1] / 500, fy, fy - lab[..., 2] / 200], axis=-1)
    return np.asarray(np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29)) * profiles.D50)


def absolute_lab(lab: Array) -> Array:
    """Media white times relative XYZ (ICC.1:2022, 6.3.2.2)."""
    ratio = relative_xyz(lab) / profiles.D50 * WHITE
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    parts = (116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2]))
    return np.stack(parts, axis=-1)


def lab_8(lab: Array) -> Array:
    return np.asarray((lab + np.array([0, 128, 128])) / [100, 255, 255])


def lab_legacy(lab: Array) -> Array:
    return lab_8(lab) * 65280 / 65535


def xyz_code(lab: Array) -> Array:
    return relative_xyz(lab) / (1 + 32767 / 32768)


RELATIVE = relative_lab()
STRAIGHT_B = 3 * profiles.IDENTITY
STRAIGHT_A = 4 * profiles.IDENTITY
SHRUNK = profiles.fixed(0.8, 0, 0, 0, 0.8, 0, 0, 0, 0.8, 0, 0, 0)
"""A matrix that undoes the stretching of a table to 1.25."""

KINDS: dict[str, tuple[bytes, bytes, int]] = {
    "lut8 Lab": (profiles.lut(lab_8(RELATIVE), 8, CURVES, ENDS), b"Lab ", 2),
    "lut16 Lab, version 2": (profiles.lut(lab_legacy(RELATIVE), 16, CURVES, ENDS), b"Lab ", 2),
    "lut16 Lab, version 4": (profiles.lut(lab_legacy(RELATIVE), 16, CURVES, ENDS), b"Lab ", 4),
    "lut16 XYZ": (profiles.lut(xyz_code(RELATIVE), 16, CURVES, ENDS), b"XYZ ", 2),
    "lutAToB 16 bit": (profiles.mab(lab_8(RELATIVE), 16, STRAIGHT_A, STRAIGHT_B), b"Lab ", 4),
    "lutAToB 8 bit": (profiles.mab(lab_8(RELATIVE), 8, STRAIGHT_A, STRAIGHT_B), b"Lab ", 4),
    "lutAToB XYZ with matrix": (
        profiles.mab(xyz_code(RELATIVE) * 1.25, 16, STRAIGHT_A, STRAIGHT_B, STRAIGHT_B, SHRUNK),
        b"XYZ ",
        4,
    ),
}


def built(kind: str, tag: bytes = b"A2B1") -> bytes:
    table, connection, version = KINDS[kind]
    return profiles.profile({tag: table}, version=version, connection=connection)


@pytest.mark.parametrize("kind", KINDS)
def test_known_tables(kind: str) -> None:
    found = read_profile(built(kind), "test.icc")
    missed = delta_e_2000(found.lab_on_grid(LEVELS), absolute_lab(RELATIVE))
    # Half a code: of 8 bits 0.5 in a* and b*; of 16-bit XYZ 0.1 in the darkest L*.
    worst = 0.8 if "8" in kind else 0.15 if "XYZ" in kind else 0.02
    assert float(missed.max()) < worst
    assert found.name == "A test printer"
    assert found.warnings == ()


@pytest.mark.parametrize("kind", KINDS)
def test_little_cms_reads_them_alike(kind: str) -> None:
    """Absolute colorimetric through Pillow: its output is 8-bit, hence the tolerance."""
    codes = np.array(list(product((0, 51, 128, 204, 255), repeat=4)), np.uint8)
    lab = through_little_cms(built(kind), codes)
    model = read_print_model(built(kind), "test.icc")
    apart = np.linalg.norm(model.lab(codes / 255) - lab, axis=1)
    # Both interpolate between 5 steps an ink, but littleCMS in simplices: hence a looser mean.
    assert float(np.median(apart)) < 1
    on_nodes = np.isin(codes, (0, 255)).all(axis=1)
    assert float(apart[on_nodes].max()) < 1.2


def through_little_cms(data: bytes, codes: npt.NDArray[np.uint8]) -> Array:
    transform = ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(io.BytesIO(data)),
        ImageCms.createProfile("LAB"),
        "CMYK",
        "LAB",
        renderingIntent=ImageCms.Intent.ABSOLUTE_COLORIMETRIC,
    )
    picture = Image.frombytes("CMYK", (len(codes), 1), codes.tobytes())
    converted = ImageCms.applyTransform(picture, transform)
    assert converted is not None
    raw = np.frombuffer(converted.tobytes(), np.uint8).reshape(-1, 3)
    light, opponents = raw[:, :1] / 2.55, raw[:, 1:].astype(np.int8)
    return np.hstack([light, opponents]).astype(np.float64)


def as_argyll_says(path: Path, cmyk: Array) -> Array:
    xicclu = shutil.which("xicclu")
    assert xicclu is not None
    lines = "\n".join(" ".join(f"{100 * tone:.4f}" for tone in row) for row in cmyk)
    command = [xicclu, "-ff", "-ia", "-pl", "-s100", path.name]
    done = subprocess.run(
        command, input=lines, cwd=path.parent, check=True, capture_output=True, text=True
    )
    answers = [line.split("->")[-1].split("[")[0] for line in done.stdout.splitlines()]
    return np.array([[float(word) for word in answer.split()[:3]] for answer in answers if answer])


def test_a_real_profile_as_argyll_reads_it(argyll_profile: Path) -> None:
    """On the nodes of its table, where the ways of interpolating agree.

    ArgyllCMS scales to the media white in Bradford's cone space and says so in its tag arts.
    """
    profile = read_profile(argyll_profile.read_bytes(), argyll_profile.name)
    assert profile.version[0] == 2
    assert profile.name == "TR 006 by ArgyllCMS"
    ends = np.array(list(product((0.0, 1.0), repeat=4)))
    found = profile.lab_on_grid(np.array([0.0, 1.0])).reshape(-1, 3)
    assert float(delta_e_2000(found, as_argyll_says(argyll_profile, ends)).max()) < 0.01


def test_a_real_profile_gives_back_its_chart(argyll_profile: Path, tr006_chart: Chart) -> None:
    model = read_print_model(argyll_profile.read_bytes(), argyll_profile.name)
    missed = delta_e_2000(model.lab(tr006_chart.cmyk), tr006_chart.lab)
    # colprof itself reports 0.14 in the mean and 0.6 at worst for so coarse a table.
    assert float(missed.mean()) < 0.2
    assert float(missed.max()) < 0.8


def test_real_profile_truncated_anywhere(argyll_profile: Path) -> None:
    data = argyll_profile.read_bytes()
    for length in (*range(0, 400, 7), len(data) // 3, len(data) // 2, len(data) - 1):
        with pytest.raises(ProfileError):
            read_profile(data[:length], "cut.icc")


def test_curves_before_and_after_the_table() -> None:
    """A tone curve and an end curve that undo the table's own: the plain table comes out."""
    squeezed = np.sqrt(STRAIGHT)
    lut = profiles.lut(lab_legacy(RELATIVE), 16, np.tile(STRAIGHT**2, (4, 1)), ENDS)
    profile = read_profile(profiles.profile({b"A2B1": lut}, version=2), "curves.icc")
    missed = delta_e_2000(profile.lab_on_grid(np.sqrt(LEVELS)), absolute_lab(RELATIVE))
    assert float(missed.max()) < 0.05
    table = lab_legacy(RELATIVE) ** 2
    lut = profiles.lut(table, 16, CURVES, np.tile(squeezed, (3, 1)))
    profile = read_profile(profiles.profile({b"A2B1": lut}, version=2), "ends.icc")
    inner = RELATIVE[..., 0] > 15  # where 256 samples describe a square root well
    missed = delta_e_2000(profile.lab_on_grid(LEVELS), absolute_lab(RELATIVE))
    assert float(missed[inner].max()) < 0.05


@pytest.mark.parametrize(
    "forward",
    [
        profiles.gamma(2.0),
        profiles.curve(STRAIGHT**2),
        profiles.parametric(0, 2.0),
        profiles.parametric(1, 2.0, 1.0, 0.0),
        profiles.parametric(2, 2.0, 1.0, 0.0, 0.0),
        profiles.parametric(3, 2.0, 1.0, 0.0, 0.0, 0.0),
        profiles.parametric(4, 2.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    ],
    ids=["gamma", "sampled", "para 0", "para 1", "para 2", "para 3", "para 4"],
)
def test_each_type_of_curve_squares(forward: bytes) -> None:
    tag = profiles.mab(lab_8(RELATIVE), 16, 4 * forward, STRAIGHT_B)
    profile = read_profile(profiles.profile({b"A2B1": tag}), "curve.icc")
    missed = delta_e_2000(profile.lab_on_grid(np.sqrt(LEVELS)), absolute_lab(RELATIVE))
    assert float(missed.max()) < 0.05


def test_parametric_pieces_below_the_break() -> None:
    """The sRGB curve as function 3, whose lower part is linear (IEC 61966-2-1)."""
    srgb = profiles.parametric(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
    tag = profiles.mab(lab_8(RELATIVE), 16, 4 * srgb, STRAIGHT_B)
    profile = read_profile(profiles.profile({b"A2B1": tag}), "srgb.icc")
    encoded = np.where(LEVELS <= 0.0031308, 12.92 * LEVELS, 1.055 * LEVELS ** (1 / 2.4) - 0.055)
    missed = delta_e_2000(profile.lab_on_grid(encoded), absolute_lab(RELATIVE))
    assert float(missed.max()) < 0.05
    near_black = float(profile.curves[0](np.array([0.02]))[0])
    assert near_black == pytest.approx(0.02 / 12.92, abs=1e-4)


def test_perceptual_table_is_read_with_a_warning() -> None:
    profile = read_profile(built("lut16 Lab, version 2", b"A2B0"), "photo.icc")
    warning = (
        "photo.icc has no colorimetric table (A2B1); its perceptual one (A2B0) was read, whose "
        "colours may have been altered for pleasing pictures."
    )
    assert profile.warnings == (warning,)
    assert read_print_model(built("lut8 Lab", b"A2B0"), "photo.icc").warnings == (profile.warnings)


def test_colorimetric_table_is_preferred() -> None:
    table, _, version = KINDS["lut16 Lab, version 2"]
    black = profiles.lut(np.zeros_like(RELATIVE), 16, CURVES, ENDS)
    data = profiles.profile({b"A2B0": black, b"A2B1": table}, version=version)
    profile = read_profile(data, "both.icc")
    assert profile.lab_on_grid(LEVELS).max() > 90
    assert profile.warnings == ()


def test_without_a_description_the_file_names_it() -> None:
    data = built("lut16 Lab, version 4").replace(b"desc", b"xxxx", 1)
    assert read_profile(data, "nameless.icc").name == "nameless.icc"


GOOD_TABLE = KINDS["lut16 Lab, version 2"][0]


def with_table(tag: bytes) -> bytes:
    return profiles.profile({b"A2B1": tag}, version=2)


BAD: dict[str, bytes] = {
    "too short": bytes(60),
    "truncated": with_table(GOOD_TABLE)[:3000],
    "display": profiles.profile({b"A2B1": GOOD_TABLE}, kind=b"mntr", space=b"RGB "),
    "device link": profiles.profile({b"A2B1": GOOD_TABLE}, kind=b"link"),
    "RGB printer": profiles.profile({b"A2B1": GOOD_TABLE}, space=b"RGB "),
    "B2A only": profiles.profile({b"B2A0": GOOD_TABLE, b"B2A1": GOOD_TABLE}),
    "no table at all": profiles.profile({}),
    "version 5": profiles.profile({b"A2B1": GOOD_TABLE}, version=5),
    "odd connection space": profiles.profile({b"A2B1": GOOD_TABLE}, connection=b"Luv "),
    "no paper": profiles.profile({b"A2B1": GOOD_TABLE}, white=None),
    "black paper": profiles.profile({b"A2B1": GOOD_TABLE}, white=(0, 0, 0)),
    "unknown table": with_table(b"mpet" + bytes(100)),
    "three channels": with_table(GOOD_TABLE[:8] + b"\3" + GOOD_TABLE[9:]),
    "one step": with_table(GOOD_TABLE[:10] + b"\1" + GOOD_TABLE[11:]),
    "table cut short": with_table(GOOD_TABLE[:-400]),
    "8-bit XYZ": profiles.profile({b"A2B1": KINDS["lut8 Lab"][0]}, version=2, connection=b"XYZ "),
    "no curves": with_table(profiles.mab(lab_8(RELATIVE), 16, b"", STRAIGHT_B)),
    "unknown curve": with_table(
        profiles.mab(lab_8(RELATIVE), 16, 4 * (b"wave" + bytes(8)), STRAIGHT_B)
    ),
    "tag beyond the end": with_table(GOOD_TABLE).replace(b"wtpt", b"wtpt\x7f\0\0\0", 1),
}
REASONS: dict[str, str] = {
    "too short": "bad.icc is no ICC profile, or only the beginning of one. Export it again.",
    "truncated": f"bad.icc breaks off: it should have {len(with_table(GOOD_TABLE))} bytes and has "
    "3000. Copy or export the profile again.",
    "display": "bad.icc is a display profile. Give the printer's output profile.",
    "device link": "bad.icc is a device link. Give the printer's output profile.",
    "RGB printer": "bad.icc is a profile for RGB devices, not for CMYK. Give the CMYK profile of "
    "the printer.",
    "B2A only": "bad.icc only tells which inks to print for a colour (B2A), not what colour the "
    "inks have (A2B). Export it with both directions.",
    "no table at all": "bad.icc holds no table from CMYK to colour (A2B1). Export it with one.",
    "version 5": "bad.icc is of ICC version 5. Export it as version 2 or 4.",
    "odd connection space": "bad.icc connects to 'Luv', not to Lab or XYZ. Export it again.",
    "no paper": "bad.icc does not tell its paper's white (tag wtpt). Export the profile again.",
    "black paper": "bad.icc gives its paper the impossible white XYZ [0.0, 0.0, 0.0]. Export the "
    "profile again.",
    "unknown table": "The table of bad.icc is of type 'mpet', which artcheck does not read. Export "
    "the profile as version 2 or 4 with lut8, lut16 or lutAToB tables.",
    "three channels": "Tag A2B1 of bad.icc goes from 3 to 3 channels, not from CMYK's 4 to 3. "
    "Export the profile again.",
    "one step": "Tag A2B1 of bad.icc has fewer than 2 steps of an ink. Export it again.",
    "table cut short": "Tag A2B1 of bad.icc breaks off. Export the profile again.",
    "8-bit XYZ": "bad.icc has an 8-bit table of XYZ, which the ICC format does not define. Export "
    "the profile with 16-bit tables.",
    "no curves": "Tag A2B1 of bad.icc lacks curves or table that four inks need. Export the "
    "profile again.",
    "unknown curve": "Tag A2B1 of bad.icc has a curve of unknown type 'wave'. Export it again.",
    "tag beyond the end": "Tag wtpt of bad.icc lies outside the file. Export it again.",
}


@pytest.mark.parametrize("case", BAD)
def test_refusals_say_why(case: str) -> None:
    with pytest.raises(ProfileError) as caught:
        read_profile(BAD[case], "bad.icc")
    assert str(caught.value) == REASONS[case]


SMALL = {
    name: profiles.profile({b"A2B1": content}, version=version)
    for name, content, version in (
        ("lut", profiles.lut(lab_legacy(RELATIVE[::4, ::4, ::4, ::4]), 16, CURVES, ENDS), 2),
        (
            "mab",
            profiles.mab(
                lab_8(RELATIVE[::4, ::4, ::4, ::4]),
                16,
                profiles.gamma(2) + profiles.curve(STRAIGHT) + 2 * profiles.parametric(0, 2.0),
                3 * profiles.parametric(4, 1.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.0),
                STRAIGHT_B,
                SHRUNK,
            ),
            4,
        ),
    )
}


@given(
    name=st.sampled_from(sorted(SMALL)),
    changes=st.lists(st.tuples(st.integers(0, 700), st.integers(0, 255)), max_size=4),
)
@example(name="mab", changes=[(435, 10)])
@example(name="mab", changes=[(435, 93)])
@settings(max_examples=400, deadline=None)
def test_damaged_profiles_give_colours_or_one_line(
    name: str, changes: list[tuple[int, int]]
) -> None:
    raw = bytearray(SMALL[name])
    for place, value in changes:
        raw[place] = value
    try:
        said = finite(read_profile(bytes(raw), "odd.icc"))
    except ProfileError as error:
        said = str(error)
    assert said
    assert "\n" not in said


def finite(profile: Profile) -> str:
    lab = profile.lab_on_grid(np.array([0.0, 0.5, 1.0]))
    return "colours" if np.isfinite(lab).all() else ""
