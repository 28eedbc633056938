"""The picture of a page read as pixels."""

import io

import numpy as np
from PIL import Image

EDGE = 4  # px of the canvas that a frame or the focus may take
# While it turns a slow computer draws it smaller.
SHARP = """() => { const one = document.querySelector('.castview-canvas');
return one.width === Math.round(one.clientWidth * Math.min(devicePixelRatio, 2)); }"""
WIDE, PHONE = {"width": 1000, "height": 700}, {"width": 390, "height": 844}


def picture(page):
    """Pixels of the canvas as it stands but for its edge, (height, width, 3)."""
    page.wait_for_timeout(120)
    page.wait_for_function(SHARP)
    # What stands before the canvas is no picture of the part.
    before = page.locator(".castview-gizmo, .follows")
    before.evaluate_all("all => all.forEach((one) => { one.style.visibility = 'hidden'; })")
    shot = page.locator(".castview-canvas").screenshot()
    before.evaluate_all("all => all.forEach((one) => { one.style.visibility = ''; })")
    pixels = np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)
    return pixels[EDGE:-EDGE, EDGE:-EDGE]


def drawn(pixels):
    """Where the picture is neither its ground nor a shadow, which is the ground made darker."""
    ground = pixels[0, 0]
    share = pixels / ground
    is_shade = (np.ptp(share, axis=2) < 0.02) & (share.max(axis=2) > 0.5)
    return (np.abs(pixels - ground).max(axis=2) > 6) & ~is_shade


def share_of(pixels, colour, *, within=40):
    """Share of the picture within so many steps of a colour's hue."""
    wanted = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)])
    return float((np.abs(pixels - wanted).max(axis=2) < within).mean())


def changed(one, other):
    """Share of the picture that is not as it was."""
    rows = min(len(one), len(other))  # a longer note below takes a line of it
    return float((np.abs(one[:rows] - other[:rows]).max(axis=2) > 24).mean())


def open_card(page, key):
    page.click(f"#card-{key} .head")


def slide(page, selector, value):
    page.eval_on_selector(
        selector,
        "(one, value) => { one.value = value; one.dispatchEvent(new Event('input')); }",
        str(value),
    )
