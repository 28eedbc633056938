"""The shop's own facts from a TOML file: packs and prices, scale, cup, hours, what it uses."""

import math
import re
import tomllib
from dataclasses import fields
from datetime import date
from pathlib import Path

from castplan import ordinary
from castplan.checks import is_line
from castplan.errors import InputError
from castplan.job import LEAST_MIXES, WEEKDAYS, Pack, Shop
from castplan.materials import folder

EXAMPLE = """\
currency = "EUR"
hourly_rate = 45
scale_step_g = 0.1
tare_g = 0              # of the cup, if the scale is not set to zero with it
largest_cup_ml = 2000   # that goes into the vacuum chamber
least_mix = "card"      # a small cup is made up to the card's least; or "scale": to
                        # what the scale weighs well; or "none"
day_start_h = 8
day_end_h = 17
free_days = ["sat", "sun"]
holidays = ["2026-12-25", "2026-12-28"]
cut_colour = "#D55E00"      # of the layers CUT and ENGRAVE in drawings of boards,
engrave_colour = "#0072B2"  # where your cutter goes by colours

[uses]
clay = "sulphur-free"
release = "petroleum-jelly"

[[pack]]
name = "1 kg kit"
card = "silicone-tin-25a"
part = "kit"            # both parts in the card's ratio; or "A", or "B"
mass_g = 1050
price = 32.50
shelf_life_months = 12
most = 4                # no more of it to be had
"""
# Least value, and whether it may be that value itself.
_NUMBERS = {
    "hourly_rate": (0.0, True),
    "scale_step_g": (0.0, False),
    "tare_g": (0.0, True),
    "largest_cup_ml": (0.0, False),
    "day_start_h": (0.0, True),
    "day_end_h": (0.0, False),
    "mass_g": (0.0, False),
    "price": (0.0, True),
    "shelf_life_months": (0.0, False),
    "most": (0.0, True),
}
_PARTS = ("kit", "A", "B")
_COLOUR = re.compile(r"#[0-9A-Fa-f]{6}")


def load_shop(path: Path | None = None) -> Shop:
    """Read the shop's file.

    Parameters
    ----------
    path : pathlib.Path, optional
        Without it ``shop.toml`` in the shop's folder, if there is one.

    Returns
    -------
    Shop

    Raises
    ------
    InputError
        The file is missing, is no TOML, or says something that cannot be.
    """
    if path is None:
        path = folder.shop_file()
        if not path.is_file():
            return Shop()
    try:
        stated = tomllib.loads(ordinary.read_text(path))
    except (OSError, ValueError) as error:
        raise InputError(
            str(path),
            found=f"no shop file that can be read ({error})",
            need="a TOML file",
            do="Look at the example in castplan plan --help and in the readme.",
        ) from error
    return shop_from(stated, name=str(path))


def shop_from(stated: dict, *, name: str) -> Shop:
    """A shop from the tables of its file.

    Parameters
    ----------
    stated : dict
    name : str
        What the file is called, for messages.

    Raises
    ------
    InputError
        A key is unknown, or a value cannot be.
    """
    stated = dict(stated)
    packs = [_pack(entry, name, k) for k, entry in enumerate(stated.pop("pack", []), start=1)]
    uses = stated.pop("uses", {})
    if not isinstance(uses, dict) or not all(map(is_line, (*uses, *uses.values()))):
        raise _wrong(name, "uses", repr(uses), "a table of names, such as clay = 'sulphur-free'")
    _check(stated, {entry.name for entry in fields(Shop)} - {"packs", "uses"}, name, "")
    least = stated.get("least_mix", "card")
    if least not in LEAST_MIXES:
        raise _wrong(name, "least_mix", repr(least), f"one of {', '.join(LEAST_MIXES)}")
    for key, is_known, need in (
        ("free_days", WEEKDAYS.__contains__, f"a list of {', '.join(WEEKDAYS)}"),
        ("holidays", _is_date, "a list of days as YYYY-MM-DD in quotes"),
    ):
        days = stated.get(key, [])
        is_list = isinstance(days, list | tuple)
        if not is_list or not all(isinstance(day, str) and is_known(day) for day in days):
            raise _wrong(name, key, repr(days), need)
        if key in stated:
            stated[key] = tuple(days)
    if set(WEEKDAYS) <= set(stated.get("free_days", ())):
        raise _wrong(name, "free_days", "every day", "one day at least on which you work")
    for key in ("cut_colour", "engrave_colour"):
        colour = stated.get(key)
        if colour is not None and not (isinstance(colour, str) and _COLOUR.fullmatch(colour)):
            raise _wrong(name, key, repr(colour), "a colour as #rrggbb, such as '#D55E00'")
    currency = stated.get("currency", "")
    if currency != "" and not is_line(currency, most=20):
        raise _wrong(name, "currency", repr(currency), "a word")
    return Shop(**stated, packs=tuple(packs), uses=tuple(sorted(uses.items())))


def _is_date(text):
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _pack(entry, name, number):
    where = f"pack {number}: "
    if not isinstance(entry, dict):
        raise _wrong(name, f"pack {number}", repr(entry), "a table")
    _check(entry, {field.name for field in fields(Pack)}, name, where)
    for key in ("name", "card", "part", "mass_g", "price"):
        if key not in entry:
            raise _wrong(name, where + key, "none", "one")
    for key in ("name", "card"):
        if not is_line(entry[key]):
            raise _wrong(name, where + key, repr(entry[key]), "one line of 1 to 200 signs")
    if entry["part"] not in _PARTS:
        raise _wrong(name, where + "part", repr(entry["part"]), f"one of {', '.join(_PARTS)}")
    if not isinstance(entry.get("most", 0), int):
        raise _wrong(name, where + "most", repr(entry["most"]), "a whole number")
    return Pack(**entry)


def _check(stated, known, name, where):
    for key, value in stated.items():
        if key not in known:
            raise _wrong(name, where + key, "a key", f"one of {', '.join(sorted(known))}")
        if key not in _NUMBERS:
            continue
        least, may_be = _NUMBERS[key]
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if not is_number or not math.isfinite(value) or value < least:
            raise _wrong(name, where + key, repr(value), f"a number of {least:g} or more")
        if value == least and not may_be:
            raise _wrong(name, where + key, repr(value), f"a number above {least:g}")


def _wrong(name, key, found, need):
    return InputError(name, found=f"{key}: {found}", need=need, do="Mend the shop file.")
