"""The documents tell the truth: findings, errors, commands, layout."""

from __future__ import annotations

import ast
import re
import tomllib
from pathlib import Path

import artcheck
from artcheck import errors
from artcheck.cli.tools import findings_sections

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "artcheck"


def outcomes(expression: ast.expr) -> list[ast.expr]:
    """What an expression can come to: both arms of a condition, not its test."""
    if isinstance(expression, ast.IfExp):
        return outcomes(expression.body) + outcomes(expression.orelse)
    return [expression]


def finding_ids() -> set[str]:
    """Every ``id=`` of a Finding or ReadingNote in the source, conditional ones too."""
    ids: set[str] = set()
    for file in PACKAGE.rglob("*.py"):
        for call in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            name = getattr(getattr(call, "func", None), "id", "")
            if isinstance(call, ast.Call) and name in ("Finding", "ReadingNote"):
                ids |= {
                    text.value
                    for keyword in call.keywords
                    if keyword.arg == "id"
                    for text in outcomes(keyword.value)
                    if isinstance(text, ast.Constant)
                    and isinstance(text.value, str)
                    and re.fullmatch(r"[a-z]+(-[a-z]+)*", text.value)
                }
    return ids


def test_every_finding_has_its_heading_and_every_heading_its_finding() -> None:
    assert set(findings_sections()) == finding_ids()
    assert all(len(text) > 40 for text in findings_sections().values())


def test_findings_page_is_the_packaged_one() -> None:
    packaged = (PACKAGE / "judge" / "findings.md").read_text(encoding="utf-8")
    assert (ROOT / "docs" / "findings.md").read_text(encoding="utf-8") == packaged


def test_every_error_has_its_heading() -> None:
    classes = {
        name: kind
        for name, kind in vars(errors).items()
        if isinstance(kind, type) and issubclass(kind, errors.ArtcheckError)
    }
    page = (ROOT / "docs" / "errors.md").read_text(encoding="utf-8")
    for name, kind in classes.items():
        if name.startswith("_") or name == "ArtcheckError":
            continue
        assert re.search(rf"^#+ {name}$", page, re.MULTILINE), name
        assert re.search(rf"^\| {kind.exit_code} \|", page, re.MULTILINE), name


def test_readme_states_the_job_and_two_set_up_commands() -> None:
    page = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "heat press" in page.split("\n\n")[1]
    assert len(re.findall(r"^python3 -m venv", page, re.MULTILINE)) == 2


def test_readme_commands_exist() -> None:
    from typer.main import get_command

    from artcheck.cli.app import app

    known = set(get_command(app).commands)  # type: ignore[attr-defined]
    page = (ROOT / "README.md").read_text(encoding="utf-8")
    used = set(re.findall(r"^artcheck ([a-z]+)", page, re.MULTILINE))
    assert used
    assert used <= known


def test_top_level_is_as_agreed() -> None:
    import subprocess

    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    ).stdout.split("\n")
    top = {name.split("/")[0] for name in listed if name} - {""}
    shown = {name for name in top if not name.startswith(".")}
    agreed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "artcheck",
        "tests",
        "fixtures",
        "docs",
    }
    assert shown <= agreed


def test_version_is_one() -> None:
    from artcheck.version import __version__

    assert artcheck.__version__ == __version__
    data = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert data["project"]["dynamic"] == ["version"]
