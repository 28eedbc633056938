"""What castplan needs to run: each with a lowest version, none under a licence that binds.

The licence is what each installed package says of itself in its metadata (Core Metadata
2.4 of the Python packaging guides: License-Expression, License, Classifier).
"""

import re
import tomllib
from importlib.metadata import metadata
from pathlib import Path

import pytest

HOME = Path(__file__).parents[2]
# Copyleft of the whole program. None of the lesser kind is needed either.
BINDS = re.compile(r"\b[AL]?GPL|General Public Licen[cs]e", re.IGNORECASE)
STATED = re.compile(r"([\w.-]+)(\[[\w,]+\])?>=[\d.]+")


def needed():
    """Runtime dependencies as they are stated."""
    told = tomllib.loads((HOME / "pyproject.toml").read_text("utf-8"))
    return told["project"]["dependencies"]


def licence_of(told) -> str:
    """What a package's metadata say of its licence, its text's first line at most."""
    lines = [told.get("License-Expression") or "", (told.get("License") or "").split("\n")[0]]
    lines += [each for each in told.get_all("Classifier") or () if each.startswith("License")]
    return "; ".join(line for line in lines if line)


@pytest.mark.parametrize("stated", needed())
def test_a_dependency_has_a_lowest_version_and_a_licence_that_does_not_bind(stated):
    name = STATED.fullmatch(stated)[1]
    licence = licence_of(metadata(name))
    assert licence and not BINDS.search(licence)


def test_a_licence_that_binds_and_a_version_left_open_are_found():
    for licence in ("AGPL-3.0-only", "LGPLv3", "GNU General Public License v2 (GPLv2)"):
        assert BINDS.search(licence)
    assert not BINDS.search("Mozilla Public License 2.0 (MPL 2.0)")
    assert STATED.fullmatch("numpy") is None and STATED.fullmatch("numpy<2") is None
