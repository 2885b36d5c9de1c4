"""docs/licences.md beside pyproject.toml and what the packages say of themselves."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import PackageNotFoundError, distribution
from itertools import chain
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FAMILIES = {
    "Apache": r"apache",
    "BSD": r"\bbsd\b|redistribution and use in source and binary forms",
    "LGPL": r"lgpl|lesser general public",
    "MIT": r"\bmit\b|permission is hereby granted, free of charge",
    "MPL": r"mpl|mozilla public",
    "PSF": r"psf|python software foundation",
}


def wanted() -> dict[str, str]:
    """Least version of every package that pyproject.toml names."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    lines = [*project["dependencies"], *chain(*project["optional-dependencies"].values())]
    return dict(line.split(">=") for line in lines)


def listed() -> dict[str, tuple[str, str]]:
    """Least version and licence of every package on the page."""
    page = (ROOT / "docs" / "licences.md").read_text("utf-8")
    rows = re.findall(r"^\| ([a-z0-9-]+) \| ([\d.]+) \| ([^|]+) \|", page, re.MULTILINE)
    return {name: (least, licence.strip()) for name, least, licence in rows}


def test_the_page_lists_what_is_needed_and_nothing_else() -> None:
    assert {name: least for name, (least, _) in listed().items()} == wanted()


@pytest.mark.parametrize("name", sorted(wanted()))
def test_a_package_says_the_same_of_itself(name: str) -> None:
    family = listed()[name][1].split("-")[0]
    assert family in FAMILIES
    try:
        package = distribution(name)
    except PackageNotFoundError:
        return  # an extra that is not installed here
    said: list[str] = []
    for key in ("License-Expression", "License", "Classifier"):
        said += package.metadata.get_all(key) or []
    for file in package.files or []:
        if re.match(r"(licen[cs]e|copying)", file.name, re.IGNORECASE):
            said.append(str(file.read_text("utf-8"))[:3000])
    assert re.search(FAMILIES[family], " ".join(said), re.IGNORECASE), said
