"""A catalogue in which every letter is Greek: what stays Latin could not be translated."""

import re
import string
from dataclasses import fields, is_dataclass, replace

import numpy as np

from castplan import texts
from castplan.records import Part
from castplan.texts.told import Told, tell_data

GREEK = dict(
    zip(
        map(ord, string.ascii_letters),
        "αβγδεζηθικλμνξοπρστυφχψωϊϋΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩΪΫ",
        strict=True,
    )
)
# Symbols of units and standards, names: the same in every language.
SYMBOLS = {"mm", "cm", "ml", "min", "in", "oz", "kPa", "MPa", "mPa", "bar", "castplan", "Letter"}

# All that a part of a page can tell: texts, names for the ear, what a style sheet writes.
TOLD = """(root) => {
  const told = [document.title];
  for (const one of [root, ...root.querySelectorAll("*")]) {
    if (one.matches("script, style")) continue;
    for (const node of one.childNodes) if (node.nodeType === Node.TEXT_NODE) told.push(node.data);
    for (const name of ["aria-label", "title", "alt", "placeholder", "aria-valuetext"])
      if (one.hasAttribute(name)) told.push(one.getAttribute(name));
    for (const part of ["::before", "::after"]) {
      const { content } = getComputedStyle(one, part);
      if (content !== "none" && content !== "normal") told.push(content);
    }
  }
  return told;
}"""


def in_greek(template):
    """A text with its letters exchanged; fields and basis letters stay."""
    parts = re.split(r"(\{[^{}]*(?:\{[^{}]*\}[^{}]*)?\}|\[[mcdspa]\])", template)
    return "".join(p if p[:1] in "{[" and p[-1:] in "}]" else p.translate(GREEK) for p in parts)


def greek_catalogue():
    """The English catalogue, words of the material files too, in Greek letters."""
    return {
        key: {form: in_greek(text) for form, text in entry.items()}
        if isinstance(entry, dict)
        else in_greek(entry)
        for key, entry in texts.english().items()
    } | {f"{texts.DATA}.{word}": word.translate(GREEK) for word in texts.data_words()}


def told_in_greek(value):
    """A record whose plain words and part's name, in no translation, are in Greek letters too."""
    if isinstance(value, Told):
        if value.key.startswith(f"{texts.DATA}."):
            return tell_data(in_greek(value.key.removeprefix(f"{texts.DATA}.")))
        return replace(value, fields=tuple((n, told_in_greek(item)) for n, item in value.fields))
    if isinstance(value, tuple):
        return tuple(told_in_greek(item) for item in value)
    if is_dataclass(value):
        changed = {
            entry.name: told_in_greek(getattr(value, entry.name))
            for entry in fields(value)
            if not isinstance(getattr(value, entry.name), np.ndarray)
        }
        if isinstance(value, Part):
            changed["name"] = in_greek(value.name)
        return replace(value, **changed)
    return value
