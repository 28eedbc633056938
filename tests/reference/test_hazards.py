"""Hazard classes, limits and duties against the entries they come from."""

import json
import re
from pathlib import Path

import pytest

from castplan.materials.cautions import load_cautions

HERE = Path(__file__).parent
REFERENCE = json.loads((HERE / "hazards.json").read_text("utf-8"))
SAFETY = (HERE.parents[1] / "SAFETY.md").read_text("utf-8")
CAUTIONS = load_cautions()


@pytest.mark.parametrize("entry", REFERENCE["entries"], ids=lambda entry: entry["index"])
def test_harmonised_classes(entry):
    # A row of a table, or the sentence that starts with the number.
    start = SAFETY.index(entry["index"])
    near = SAFETY[start : start + 200].split("\n\n")[0]
    codes = re.findall(r"H\d{3}[A-Za-z]*", near)
    assert codes[: len(entry["h_codes"])] == entry["h_codes"]
    if entry["caution"]:
        caution = CAUTIONS[entry["caution"]]
        assert set(entry["h_codes"]) <= set(caution.h_codes)
        assert entry["index"] in str(caution.source)


@pytest.mark.parametrize("limit", REFERENCE["limits"], ids=lambda limit: limit["words"][0])
def test_limits_in_air(limit):
    for words in limit["words"]:
        assert words in str(CAUTIONS[limit["caution"]].limits)


def test_conversion_of_the_limits():
    """0.02 mg NCO are 0.0596 mg MDI, 0.005 ppm MDI 0.0512 mg/m3 (250.26 and 42.02 g/mol)."""
    assert pytest.approx(0.0596, abs=5e-5) == 0.02 * 250.26 / (2 * 42.02)
    assert pytest.approx(0.0512, abs=5e-5) == 0.005 * 250.26 / 24.45
    assert "0.05 mg/m3 (0.005 ppm)" in SAFETY


def test_statements_are_worded_as_published():
    text = " ".join(SAFETY.split())
    for code, words in REFERENCE["statements"].items():
        assert f"{code} {words}." in text


def test_every_code_on_a_sheet_is_explained():
    text = " ".join(SAFETY.split())
    for caution in CAUTIONS.values():
        for code in caution.h_codes:
            assert re.search(rf"\b{code} [A-Z]", text), code


@pytest.mark.parametrize(
    "words",
    [
        # Regulation (EU) 2020/1149 (legislation.gov.uk): trained from 24 August 2023, below
        # 0.1 % by weight free of it; five years until the next (gpcgateway.com).
        "24 August 2023",
        "0.1 % diisocyanate by weight",
        "every five years",
        # NIOSH Alert 96-111: can be fatal, skin counts too.
        "NIOSH Alert 96-111",
        "Never above the pressure on the plate",
        "29 CFR 1910.134",
        "does not replace the supplier's safety data sheet",
    ],
)
def test_duties_are_in_the_full_text(words):
    assert words in " ".join(SAFETY.replace("**", "").split())


def test_nothing_is_called_safe():
    for caution in CAUTIONS.values():
        assert not re.search(r"\b(is|are) safe\b", str(caution.text))
    assert "castplan never calls anything safe" in " ".join(SAFETY.split())
