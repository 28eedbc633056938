"""Words as an attacker would name a part, a tin, a list or a note."""

# Markup and the end of a script (OWASP Cheat Sheet Series, "Cross Site Scripting Prevention"),
# formula signs (OWASP, "CSV Injection"), signs that turn a line round (Unicode TR 36, 3.2),
# what a terminal obeys (ECMA-48), what a template or a drawing reads as its own.
MARKUP = "<img src=x onerror=alert(1)></script><script>alert(2)</script><svg/onload=alert(3)>"
FORMULAS = ("=HYPERLINK(1)", "+1+cmd", "-1+1", "@SUM(1)", "\t=1", "\r=1")
TURNED = "hook\u202egnp.exe\u2066\u200f"
TERMINAL = "a\x1b]0;owned\x07\x1b[2J\x9b31m\x00b"
LINES = "a\nb\r\nc\u2028d\x0be"
LONG = "W" * 10_000
OTHERS = (
    "{{view.stop}} {name} %s %(x)s ${x}",
    "]]> &amp; <!-- --",
    "'\"`; DROP TABLE jobs --",
    " ",
)
WORDS = (MARKUP, *FORMULAS, TURNED, TERMINAL, LINES, LONG, *OTHERS)
# None of these may reach a reader as it is.
UNSHOWN = "\u202e\u2066\u200f\x1b\x07\x9b\x00\u2028\x0b"
# A tin as the shop would write it, with such words.
SHEET = {
    "title": f"T {MARKUP}",
    "sheet": f"S {MARKUP}",
    "chemistry": "tin-cure",
    "incompatible": [f"I {MARKUP}"],
    "density_g_ml": 1.1,
    "ratio_a": 100,
    "ratio_b": 5,
    "pot_life_min": 30,
    "demould_h": 12,
    "viscosity_mpa_s": 20000,
    "shore": "25 A",
    "elongation_fraction": "400 %",
    "shrinkage_fraction": "0.3 %",
}
