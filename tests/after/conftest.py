"""One coarse plan for the tests of what comes after the pour."""

from pathlib import Path

import pytest

from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import Gauge, Job

FOLDER = Path(__file__).parents[2] / "sample_parts"


@pytest.fixture(scope="session")
def hook():
    """The coat hook on its back: two high points, each with its opening."""
    job = Job(
        draw=(1.0, 0.0, 0.0),
        up=(0.0, 0.0, 1.0),
        pitch_mm=0.8,
        n_directions=8,
        n_attitudes=8,
        gauges=(Gauge(name="peg", length_mm=20.0, tolerance_mm=0.1),),
    )
    return build_plan(load_part(FOLDER / "coat_hook.stl", unit="mm"), job)
