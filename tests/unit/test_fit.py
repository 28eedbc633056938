"""Predicted sizes against ISO 2768-1 and against plus and minus."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from output.neutral import filled

from castplan.bench.fit import ISO_2768_MM, iso_2768_mm, list_shares, predict_fit, shrink
from castplan.errors import InputError
from castplan.materials.cards import get_card
from castplan.records import Gauge, Job, MeshCheck, Part

REFERENCE = json.loads(
    (Path(__file__).parents[1] / "reference" / "tolerances.json").read_text("utf-8")
)
PART = filled(Part, check=filled(MeshCheck, extent_mm=(100.0, 50.0, 20.0)))


@pytest.mark.parametrize("row", REFERENCE["iso_2768_1"]["rows"], ids=lambda row: row["class"])
def test_rows_of_the_standard(row):
    limits = REFERENCE["iso_2768_1"]["up_to_mm"]
    for k, (limit_mm, tolerance_mm) in enumerate(zip(limits, row["plus_minus_mm"], strict=True)):
        above_mm = 0.5 if not k else limits[k - 1] + 1e-6
        for length_mm in (above_mm, limit_mm):
            assert iso_2768_mm(length_mm, tolerance_class=row["class"]) == tolerance_mm


def test_outside_the_standard_there_is_none():
    assert iso_2768_mm(0.4, tolerance_class="m") is None
    assert iso_2768_mm(4001, tolerance_class="m") is None


def test_shrinkage_of_mould_and_resin_multiply():
    silicone = get_card("silicone-platinum-20a", kind="silicone")
    resin = get_card("polyurethane-fast-70d", kind="resin")
    nominal, low, high = shrink(list_shares(silicone, resin))
    # 0.1 % (0 to 0.1 %) and 0.15 %: closed form.
    assert nominal == pytest.approx(0.999 * 0.9985, rel=1e-12)
    assert (low, high) == pytest.approx((0.999 * 0.9985, 0.9985), rel=1e-12)


def test_epoxy_shrinks_by_length_what_it_shrinks_by_volume():
    # 2 to 5 % by volume (from memory) is, by the cube root, 0.67 to 1.70 % by length.
    resin = get_card("epoxy-slow-80d", kind="resin")
    silicone = get_card("silicone-platinum-20a", kind="silicone")
    _, low, high = shrink(list_shares(silicone, resin))
    assert high**3 == pytest.approx(0.98, abs=2e-4)
    assert low**3 == pytest.approx(0.999**3 * 0.95, abs=2e-4)


def fit_of(*gauges, silicone="silicone-platinum-20a"):
    return predict_fit(PART, Job(silicone=silicone, gauges=gauges))


def test_the_parts_axes_come_first():
    lines = fit_of().lines
    assert [line.original_mm for line in lines] == [100.0, 50.0, 20.0]
    assert lines[0].copy_mm == pytest.approx(99.7502, abs=1e-4)
    # 0.25 mm off at most: within 0.3 (m) but not 0.15 (f) of ISO 2768-1 up to 120 mm.
    assert lines[0].finest_class == "m"
    assert lines[0].verdict == "not asked"


@pytest.mark.parametrize(
    ("gauge", "verdict"),
    [
        (Gauge(name="a", length_mm=100.0, tolerance_class="m"), "fits"),
        (Gauge(name="a", length_mm=100.0, tolerance_class="f"), "may not fit"),
        (Gauge(name="a", length_mm=100.0, tolerance_mm=0.25), "fits"),
        (Gauge(name="a", length_mm=100.0, tolerance_mm=0.2), "may not fit"),
        (Gauge(name="a", length_mm=100.0, tolerance_mm=0.1), "does not fit"),
    ],
)
def test_verdicts(gauge, verdict):
    """The copy measures 99.75 to 99.85 mm: 0.1 % or nothing, and 0.15 %."""
    assert fit_of(gauge).lines[3].verdict == verdict


def test_a_printed_original_scaled_so_gives_the_size_back():
    result = fit_of()
    assert 100 * result.print_scale.value * (1 - result.shrinkage.value) == pytest.approx(100)
    assert result.print_scale.low <= result.print_scale.value <= result.print_scale.high
    # Platinum silicone 0 to 0.1 %, urethane 0.15 %.
    assert result.shrinkage.low == pytest.approx(0.0015)
    assert result.shrinkage.high == pytest.approx(1 - 0.999 * 0.9985)


@pytest.mark.parametrize(
    ("gauge", "words"),
    [
        (Gauge(name="a", length_mm=0.0), "need a length above 0"),
        (Gauge(name="a", length_mm=10.0, tolerance_class="h"), "need one of f, m, c, v"),
        (Gauge(name="a", length_mm=2.0, tolerance_class="v"), "has no row"),
        (Gauge(name="a", length_mm=5000.0, tolerance_class="m"), "has no row"),
    ],
)
def test_gauges_that_cannot_be(gauge, words):
    with pytest.raises(InputError, match=words):
        fit_of(gauge)


@given(
    length_mm=st.floats(0.5, 4000),
    silicone=st.sampled_from(["silicone-tin-25a", "silicone-platinum-20a", "silicone-tin-15a"]),
)
def test_the_interval_holds_the_copy_and_classes_are_nested(length_mm, silicone):
    line = fit_of(Gauge(name="a", length_mm=length_mm), silicone=silicone).lines[3]
    assert line.low_mm <= line.copy_mm <= line.high_mm <= length_mm
    allowed = [iso_2768_mm(length_mm, tolerance_class=name) for name in ISO_2768_MM]
    known = [tolerance for tolerance in allowed if tolerance is not None]
    assert known == sorted(known)
    if line.finest_class:
        tolerance_mm = iso_2768_mm(length_mm, tolerance_class=line.finest_class)
        assert length_mm - line.low_mm <= tolerance_mm + 1e-9
