"""Colours to sRGB: profiles against LittleCMS, CMYK without one against the print model."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from artcheck.colour.difference import delta_e_2000
from artcheck.colour.print_model import packaged_model
from artcheck.colour.spaces import D50_WHITE, lab_to_xyz, srgb8_to_lab, xyz_to_lab
from artcheck.reading import press, read
from fixtures import make_odd_files as odd
from fixtures import odd_writers as write
from tests.art import noise


def profiled(image: Image.Image, profile: bytes, folder: Path, kind: str = "tif") -> Path:
    path = folder / f"a.{kind}"
    image.save(path, icc_profile=profile)
    return path


def through_littlecms(image: Image.Image, profile: bytes) -> np.ndarray:
    return np.asarray(
        ImageCms.profileToProfile(
            image,
            ImageCms.ImageCmsProfile(io.BytesIO(profile)),
            ImageCms.createProfile("sRGB"),
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
            outputMode="RGB",
            flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
        )
    )


@pytest.mark.parametrize(
    ("mode", "channels", "profile"),
    [
        ("RGB", 3, odd.turned_rgb()),
        ("CMYK", 4, odd.turned_cmyk()),
        ("CMYK", 4, press.packaged_profile()),
        ("L", 1, write.grey_profile("Grey 1.8")),
    ],
)
def test_as_littlecms(mode: str, channels: int, profile: bytes, tmp_path: Path) -> None:
    pixels = noise((24, 24, channels))
    image = Image.frombytes(mode, (24, 24), pixels.tobytes())
    art = read(profiled(image, profile, tmp_path), background="keep")
    np.testing.assert_array_equal(art.rgb, through_littlecms(image, profile))
    assert art.profile is not None
    assert art.notes == ()


def test_alpha_stays_beside_a_profile(tmp_path: Path) -> None:
    pixels = noise((16, 16, 4))
    art = read(profiled(Image.fromarray(pixels), odd.turned_rgb(), tmp_path, "png"))
    np.testing.assert_array_equal(art.alpha, pixels[..., 3])
    plain = Image.fromarray(np.ascontiguousarray(pixels[..., :3]))
    np.testing.assert_array_equal(art.rgb, through_littlecms(plain, odd.turned_rgb()))


def test_srgb_is_known_by_what_it_does_not_by_its_name(tmp_path: Path) -> None:
    pixels = noise((16, 16, 3))
    red, green, blue = write.SRGB_COLUMNS
    same = write.rgb_profile((red, green, blue), "Another name")
    other = write.rgb_profile((green, blue, red), "sRGB IEC61966-2.1")
    image = Image.fromarray(pixels)
    unchanged = read(profiled(image, same, tmp_path), background="keep")
    changed = read(profiled(image, other, tmp_path), background="keep")
    np.testing.assert_array_equal(unchanged.rgb, pixels)
    np.testing.assert_array_equal(changed.rgb, through_littlecms(image, other))


def test_grey_picture_under_a_profile_for_rgb(tmp_path: Path) -> None:
    red, green, blue = write.SRGB_COLUMNS
    profile = write.rgb_profile((red, green, blue), "Screen")
    grey = Image.fromarray(np.arange(256, dtype=np.uint8).reshape(16, 16))
    art = read(profiled(grey, profile, tmp_path), background="keep")
    assert art.notes == ()
    np.testing.assert_array_equal(art.rgb[..., 1], np.asarray(grey))


@pytest.mark.parametrize("profile", [b"\x00" * 200, write.grey_profile("Grey")], ids=["no", "grey"])
def test_profile_that_does_not_fit(profile: bytes, tmp_path: Path) -> None:
    pixels = noise((16, 16, 3))
    art = read(profiled(Image.fromarray(pixels), profile, tmp_path), background="keep")
    assert [note.id for note in art.notes] == ["profile-unusable"]
    assert art.profile is None
    np.testing.assert_array_equal(art.rgb, pixels)


def test_cmyk_whose_profile_does_not_fit_is_read_without(tmp_path: Path) -> None:
    image = Image.frombytes("CMYK", (16, 16), noise((16, 16, 4)).tobytes())
    art = read(profiled(image, write.grey_profile("Grey"), tmp_path), background="keep")
    assert [note.id for note in art.notes] == ["profile-unusable", "cmyk-without-profile"]
    np.testing.assert_array_equal(art.rgb, press.cmyk_to_srgb(np.asarray(image)))


def model_lab(inks: np.ndarray) -> np.ndarray:
    model = packaged_model("tr006")
    tones = inks.reshape(-1, 4) / np.float32(255)
    return xyz_to_lab(lab_to_xyz(model.lab(tones)) / lab_to_xyz(model.paper) * D50_WHITE)


def in_gamut(rgb: np.ndarray) -> np.ndarray:
    """Colours that sRGB holds: nothing was clipped."""
    values = rgb.reshape(-1, 3)
    return np.asarray((values.min(axis=1) > 0) & (values.max(axis=1) < 255))


def test_few_mixtures_are_the_print_model_itself() -> None:
    inks = noise((60, 60, 4))
    rgb = press.cmyk_to_srgb(inks)
    wanted = model_lab(inks)
    inside = in_gamut(rgb)
    apart = delta_e_2000(srgb8_to_lab(rgb.reshape(-1, 3))[inside], wanted[inside])
    assert inside.mean() > 0.5
    assert float(apart.max()) < 1.0  # what rounding to 8 bits costs


def test_many_mixtures_by_the_table() -> None:
    inks = noise((300, 300, 4))
    assert len(np.unique(inks.view(np.uint32))) > press.MOST_DISTINCT
    rgb = press.cmyk_to_srgb(inks)
    wanted = model_lab(inks)
    inside = in_gamut(rgb)
    apart = delta_e_2000(srgb8_to_lab(rgb.reshape(-1, 3))[inside], wanted[inside])
    assert float(np.median(apart)) < 0.5
    assert float(np.quantile(apart, 0.99)) < 1.5


def test_packaged_profile_is_read_by_our_own_reader() -> None:
    from artcheck.colour.icc import read_profile

    profile = read_profile(press.packaged_profile(), "packaged")
    assert profile.name == "CGATS TR 006-2007"
    solids = profile.lab_on_grid(np.array([0.0, 1.0]))
    np.testing.assert_allclose(solids[0, 0, 0, 0], [100, 0, 0], atol=0.05)
    cyan = model_lab(np.array([[255, 0, 0, 0]], np.uint8))[0]
    np.testing.assert_allclose(solids[1, 0, 0, 0], cyan, atol=0.05)


def test_lab_picture(tmp_path: Path) -> None:
    """TIFF CIELab: a, b as signed bytes (TIFF 6.0, section 23), D50."""
    import tifffile

    lab = np.zeros((20, 30, 3), np.uint8)
    lab[..., 0] = round(54 * 2.55)
    lab[..., 1], lab[..., 2] = np.array([-20, -14], np.int8).view(np.uint8)
    path = tmp_path / "lab.tif"
    tifffile.imwrite(path, lab, photometric="cielab", metadata=None)
    art = read(path, background="keep")
    found = srgb8_to_lab(art.rgb[0, :1])[0]
    np.testing.assert_allclose(found, [54, -20, -14], atol=1.0)
