"""What a plan in another language still says in English.

    python tests/output/left_english.py [SAMPLE ...]

plans samples with a catalogue of Greek letters and prints each text in Latin
letters that the record, the sheets and the drawings hold, with its place.
"""

import re
import sys
from dataclasses import fields, is_dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from output.greek import SYMBOLS, greek_catalogue

from castplan import texts
from castplan.files.drawings import boards_svg
from castplan.paper.sheets import build_sheets
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.record import BASES
from castplan.records import Gauge, Job
from castplan.texts.told import Told
from castplan.view.page import view_html
from castplan.view.scene import build_scene

SAMPLE_PARTS = Path(__file__).resolve().parents[2] / "sample_parts"
# Each brings texts of its own.
JOBS = {
    "as it comes": Job(),
    "every way": Job(
        silicone="silicone-platinum-20a",
        resin="epoxy-slow-80d",
        copies=30,
        feed="riser",
        parting="following",
        bed="printed",
        brush_mm=1.0,
        pigment_fraction=0.05,
        place="indoors",
        original_g=30.0,
        water_ml=40.0,
        gauges=(Gauge(name="KLIP", length_mm=20.0, tolerance_mm=0.1),),
        scale_max_g=200.0,
        pot_mm=(120.0, 100.0),
        shop_temperature_c=16.0,
        start="2026-11-02 08:00",
    ),
    "cut open": Job(mould="cut", draw=(0.0, 0.0, 1.0), pot_mm=(120.0, 100.0), over_mm=30.0),
    "no way": Job(box="round", max_vents=1, parting="level", draw=(1.0, 0.0, 0.0)),
}


# Codes that have blanks, by the field that holds them: code compares them, and
# they are said where they are shown, by words of their own.
CODES = {
    "basis": frozenset(BASES),
    "limit_basis": frozenset(BASES),
    "kind": frozenset({"other draw", "loose piece", "clay fill"}),
    "unit": frozenset(
        {
            "parts by weight",
            "parts by volume to 100 of A",
            "times the mix",
            "times shorter per 10 C warmer",
        }
    ),
    "rubber": frozenset({"leaves freely", "flexes out", "may tear"}),
    "verdict": frozenset(
        {
            *("leaves freely", "flexes out", "may tear"),  # pockets
            *("fits", "may not fit", "does not fit", "not asked"),  # sizes
        }
    ),
}
# Codes that English words otherwise than they read.
RENAMED = {
    "Resin, one copy": "Resin, one casting",
    "behind-glass": "behind glass",
    "on-deck": "on deck",
    "casts": "castings",
    "copies": "castings",
}
# Tables of names that records keep as codes; `castplan.texts.names` says them.
NAMES = ("pour_name", "board_name", "vessel_name", "length_name", "place_name")
# An option of the command line with its value, the id of a card, a hazard code.
_CODE = re.compile(
    r"--[^\W\d_][\w-]*(?:[ =][a-z][\w.-]*)?|[a-z]+-[a-z]+-\d+[ad]\b|(?:EU)?H\d{3}[A-Za-z]*"
)


def latin(text: str, own=frozenset()) -> list[str]:
    """Words of two Latin letters or more that are no symbol."""
    words = re.findall(r"[A-Za-z]{2,}", _CODE.sub(" ", text))
    return [word for word in words if word not in SYMBOLS | own]


def sentences(value, path=""):
    """(path, text) of every text of a record as it is said now, and of names; codes left out."""
    if isinstance(value, Told):
        yield path, str(value)
    elif isinstance(value, str):
        if " " in value and value not in CODES.get(path.rpartition(".")[2], ()):
            yield path, value
    elif isinstance(value, tuple):
        for item in value:
            yield from sentences(item, f"{path}[]")
    elif is_dataclass(value):
        for entry in fields(value):
            held = getattr(value, entry.name)
            if not isinstance(held, np.ndarray):
                yield from sentences(held, f"{path}.{entry.name}")


def left_in(plan, scene=None) -> list[tuple[str, str]]:
    """(place, text) of what is left in English of a plan shown in Greek."""
    named = [plan.part.name, *(gauge.name for gauge in plan.job.gauges)]
    own = {word for name in named for word in re.findall(r"[A-Za-z]{2,}", name)}
    codes = {text for key, text in texts.english().items() if key.split(".")[0] in NAMES}
    codes |= set(RENAMED)
    found = [("plan" + path, text) for path, text in sentences(plan) if text not in codes]
    for sheet in build_sheets(plan):
        found += [
            (f"sheet {sheet.title}", t) for t in (sheet.title, *(x.text for x in sheet.texts))
        ]
    found += [("boards", line) for line in re.findall(r">([^<>]+)<", boards_svg(plan).decode())]
    if scene is not None:
        page = view_html(plan, scene).decode()
        page = re.sub(r"(?s)<(script|style)\b.*?</\1>", " ", page).replace("&quot;", "'")
        found += [("view", line) for line in re.findall(r">([^<>]+)<", page)]
        said = re.findall(r'(?:aria-label|title|placeholder|alt)="([^"]+)"', page)
        found += [("view", line) for line in said]
    return sorted({(place, text) for place, text in found if latin(text, own)})


def main() -> None:
    """Print what is left, a line each."""
    names = sys.argv[1:] or sorted(path.stem for path in SAMPLE_PARTS.glob("*.stl"))
    texts.use(greek_catalogue())
    seen = set()
    for name in names:
        for told, job in JOBS.items():
            plan = build_plan(load_part(SAMPLE_PARTS / f"{name}.stl", unit="mm"), job)
            for line in left_in(plan, build_scene(plan)):
                if line not in seen:
                    seen.add(line)
                    print(f"{name}, {told}: {line[0]}: {line[1]}")


if __name__ == "__main__":
    main()
