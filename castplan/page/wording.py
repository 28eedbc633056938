"""Sentences of the plan as the page says them: controls by their labels, not options by name."""

import re

from castplan.texts import say

# What the command line's options are called on the page.
CONTROLS = {
    "--box": "page_control.box",
    "--close-to-plane": "page_control.flat_back",
    "--draw": "page_control.draw",
    "--feed": "page_control.feed",
    "--gate": "page_control.gate",
    "--keep-off": "page_control.keep_off",
    "--max-vents": "page_control.add_vent",
    "--measured": "page_control.measured",
    "--parting": "page_control.parting",
    "--parting-height": "page_control.parting_height",
    "--place": "page_control.place",
    "--show-face": "page_control.show_face",
    "--silicone": "page_control.silicone",
    "--resin": "page_control.resin",
    "--thickness": "page_control.sheet",
    "--units": "page_control.size",
    "--up": "page_control.up",
    "--vent": "page_control.add_vent",
    "--wall": "page_control.wall",
    "--water": "page_control.water",
    "--yes": "page_control.size",
}
_OPTION = re.compile(
    r"(castplan [a-z]+ (?:[A-Z]+ )?)?(--[a-z][a-z-]*)(?:(?:=| )([-+\d.,]+\d)| MM)?"
)


def on_page(text: str) -> str:
    """The text with each option that the page has a control for told by the control's label.

    Parameters
    ----------
    text : str
        A sentence of the plan or of an error.

    Returns
    -------
    str
        Options without a control, and whole commands, are left as they are.
    """

    def named(found):
        command, option, value = found.groups()
        if command or option not in CONTROLS:
            return found.group()
        control = say(CONTROLS[option])
        if value:
            return say("page_control.set_to", control=control, value=value)
        return say("page_control.named", control=control)

    return _OPTION.sub(named, text)


def what_and_why(sentences: list[str]) -> tuple[str, str]:
    """Sentences of the form ``what: why.`` as what to do, and the reasons after it.

    Parameters
    ----------
    sentences : list of str

    Returns
    -------
    tuple of str
        Both end in a full stop; the second is empty where no reason was given.
    """
    parts = [sentence.rstrip(".").partition(": ") for sentence in sentences]
    what = " ".join(f"{capital(head)}." for head, _, _ in parts)
    why = " ".join(f"{capital(tail)}." for _, _, tail in parts if tail)
    return what, why


def capital(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]
