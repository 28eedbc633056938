"""What the codes of the records are called, in any language.

Pours, boards, vessels and bodies are matched by their names, in one plan and
across plans, so a record keeps them as they are. A name that is no code, such as
one that the shop gave, stays as it is.
"""

import re

from castplan.texts import code_key, english
from castplan.texts.told import Told, tell


def pour_name(code: str) -> Told | str:
    """A pour, by the name of its `Mix`."""
    return _said(f"pour_name.{code_key(code)}", code)


def board_name(code: str) -> Told | str:
    """A board, by the name of its `Board`."""
    return _said(f"board_name.{code_key(code)}", code)


def vessel_name(code: str) -> Told | str:
    """Pot or chamber, by the name of its `Fit`."""
    return _said(f"vessel_name.{code_key(code)}", code)


def body_name(code: str) -> Told | str:
    """A body, by the name of its `Solid`: ``upper half``, ``bed 2 of 3``."""
    piece = re.fullmatch(r"(.+) (\d+) of (\d+)", code)
    if piece is None:
        return _said(f"body_name.{code_key(code)}", code)
    return tell("body_name.piece", body=body_name(piece[1]), number=piece[2], pieces=piece[3])


def length_name(code: str) -> Told | str:
    """A length of the part, by the name of its `FitLine`; a gauge's name is the shop's."""
    return _said(f"length_name.{code_key(code)}", code)


def place_name(code: str) -> Told | str:
    """Where a part may live."""
    return _said(f"place_name.{code_key(code)}", code)


def filler_name(code: str) -> Told | str:
    """A powder that is stirred into resin, within a sentence."""
    return _said(f"filler_name.{code_key(code)}", code)


def _said(key, code):
    return tell(key) if key in english() else code
