"""Numbers and steps out of what a plan's outputs tell."""

import re

LABELS = "Cup labels and mould card"


def number(pattern, text):
    found = re.search(pattern, text)
    return None if found is None else float(found[1])


def step(told, kind):
    return " ".join(text for name, text in told.steps if name == kind)
