"""The colours of paper, view and page: safe for the colour-blind, each with a hatch of its own.

Okabe and Ito, Color Universal Design (2008).
"""

INK = "#1a1a1a"
GREY = "#6b6b6b"
HAIR = "#b8b4ac"
PART = "#d9d3c7"  # warm grey
UPPER = "#56B4E9"
LOWER = "#E69F00"
TRAPPED = "#D55E00"
AIR = "#0072B2"
CLAY = "#CC79A7"
RESIN = "#009E73"
LOOSE = "#009E73"
# From little to much effort, on the map of pouring positions.
AIR_SHADES = ("#f4f7fa", "#cfe0ee", "#9cc3dd", "#5b9cc6", "#2470a5", "#0b3d63")
