"""Plans of sample parts, and pictures of them without a screen."""

from pathlib import Path

import matplotlib
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

import castplan
from castplan import pictures
from castplan.job import Gauge

SAMPLES = Path(__file__).parents[2] / "sample_parts"


@pytest.fixture(scope="session")
def hook():
    """The coat hook pulled along its plate's normal: both throats are undercuts."""
    return castplan.plan(
        SAMPLES / "coat_hook.stl",
        unit="mm",
        draw=(0, 0, 1),
        mould="two-part",
        copies=3,
        gauges=(Gauge(name="hole$ \\frac spacing", length_mm=64.0, tolerance_mm=0.2),),
    )


@pytest.fixture(scope="session")
def grille():
    """The louvre grille as castplan would pull it: flat, with slots, without undercuts."""
    return castplan.plan(SAMPLES / "louvre_grille.stl", unit="mm", mould="two-part")


@pytest.fixture
def drawn():
    """Draw a picture of a plan on a figure of its own, laid out; returns the Axes."""

    def drawn(plan, name):
        figure = Figure()
        FigureCanvasAgg(figure)
        with matplotlib.rc_context():
            matplotlib.rcdefaults()
            ax = getattr(pictures, f"draw_{name}")(plan, figure)
            figure.draw_without_rendering()
        return ax

    return drawn
