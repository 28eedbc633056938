"""Booklet and details of an invented plan: its records hold no part to draw step pictures of."""

import numpy as np

from castplan.paper.booklet import bind_booklet
from castplan.paper.sheets import build_sheets

BLANK = np.full((30, 40, 3), 255, np.uint8)
SHOWN = ("fix", "box", "keys", "pour", "turn", "coats", "open", "close", "out")


def booklet(plan):
    """Its pages, a blank picture where a step would have one."""
    steps = plan.bench.schedule.steps
    return bind_booklet(plan, BLANK, {step.number: [BLANK] for step in steps if step.kind in SHOWN})


def everything(plan):
    """Booklet and details one after the other."""
    return [*booklet(plan), *build_sheets(plan)]
