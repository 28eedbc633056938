"""Colours, greys and hatches of a step picture: each material tells by two of them."""

import numpy as np

from castplan import palette
from castplan.columns.raster import compiled, compiled_within

MATERIALS = ("part", "upper", "lower", "clay", "board", "stick", "resin", "print", "tool", "shadow")
# Share of the class's colour over white, lines a hatch draws and how it leans: none,
# rising, falling, dotted, level, upright.
_NONE, _RISING, _FALLING, _DOTTED, _LEVEL, _UPRIGHT = range(6)
_LOOKS = {
    "part": (palette.PART, 1.0, _NONE),
    "upper": (palette.UPPER, 0.5, _FALLING),
    "lower": (palette.LOWER, 0.5, _RISING),
    "clay": (palette.CLAY, 0.55, _DOTTED),
    "board": (palette.PART, 0.25, _NONE),
    "stick": (palette.AIR, 1.0, _NONE),
    "resin": (palette.RESIN, 0.35, _LEVEL),
    "print": (palette.CLAY, 0.25, _UPRIGHT),
    "tool": (palette.GREY, 0.5, _NONE),
    "shadow": (palette.HAIR, 1.0, _NONE),
}
_PITCH_PX, _LINE_PX, _CUT_PX = 11.0, 1.0, 2.2
_HATCH_DARK = 0.72  # of the tone, in the line of a hatch on a face
_CUT_DARK = 0.5  # and on a section
_SHADES, _LEVELS = 5, 3  # steps of light, and of ink at the edge of a hatch
_LIGHT = np.array([-0.45, 0.55, 0.70])
_DIMMEST = 0.68


def rgb(colour: str) -> np.ndarray:
    """A colour as three shares of light."""
    return np.array([int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)])


def looks() -> tuple[np.ndarray, np.ndarray]:
    """Tone (k, 3) and hatch (k,) of the materials, white and none for nothing before them."""
    tones = [np.ones(3)]
    hatches = [_NONE]
    for name in MATERIALS:
        colour, share, hatch = _LOOKS[name]
        tones.append(1 - share * (1 - rgb(colour)))
        hatches.append(hatch)
    return np.array(tones), np.array(hatches)


def shades_of(normals: np.ndarray) -> np.ndarray:
    """Light on facets that look the way of normals (m, 3) of the view, in few steps, (m,)."""
    light = _LIGHT / np.linalg.norm(_LIGHT)
    x, y, z = np.array(normals, dtype=np.float64, order="F").T
    lit = x * light[0] + y * light[1] + z * light[2]
    step = np.floor(np.maximum(lit, 0.0) * _SHADES + 0.5)
    return _DIMMEST + (1 - _DIMMEST) * step / _SHADES


@compiled_within
def _line(at, pitch, width):
    """How much of a pixel a hatch covers, at a place across its lines."""
    away = abs(at / pitch - np.floor(at / pitch + 0.5)) * pitch
    return min(max(0.5 * width + 0.5 - away, 0.0), 1.0)


@compiled
def paint(made, facet, is_cut, shade, tones, hatches, n_x, scale):
    """Colours of all pixels, lines apart.

    Parameters
    ----------
    made, facet : buffers of `sight.draw_thing`
    is_cut : (m,) bool
        Facets that are sections.
    shade : (m,) float64
    tones, hatches : from `looks`
    n_x : int
    scale : float
        Of the hatch.

    Returns
    -------
    (n_y, n_x, 3) float32
    """
    n_y = made.size // n_x
    out = np.ones((n_y, n_x, 3), np.float32)
    root = np.sqrt(0.5)
    for j in range(n_y):
        for i in range(n_x):
            kind = made[j * n_x + i]
            if kind == 0:
                continue
            f = facet[j * n_x + i]
            cut = is_cut[f]
            pitch = _PITCH_PX * scale * (0.75 if cut else 1.0)
            width = (_CUT_PX if cut else _LINE_PX) * scale
            hatch = hatches[kind]
            laid = 0.0
            if hatch == 1:
                laid = _line((j - i) * root, pitch, width)
            elif hatch == 2:
                laid = _line((j + i) * root, pitch, width)
            elif hatch == 3:
                row = np.floor(j / pitch)
                x = (i / pitch + 0.5 * (row % 2)) % 1.0 - 0.5
                y = (j / pitch) % 1.0 - 0.5
                laid = min(max(0.9 * width + 0.5 - pitch * np.hypot(x, y), 0.0), 1.0)
            elif hatch == 4:
                laid = _line(float(j), pitch, width)
            elif hatch == 5:
                laid = _line(float(i), pitch, width)
            laid = np.floor(laid * _LEVELS + 0.5) / _LEVELS
            dark = 1.0 - laid * (1.0 - (_CUT_DARK if cut else _HATCH_DARK))
            light = dark * (1.0 if cut else shade[f])
            for c in range(3):
                out[j, i, c] = light * tones[kind, c]
    return out
