"""Sentences of the plan as the page says them: controls by their labels, not options by name."""

import re

# What the command line's options are called on the page.
CONTROLS = {
    "--box": "Shape of the box",
    "--close-to-plane": "Its back is flat",
    "--draw": "Which way does the upper half leave?",
    "--feed": "Where does the gate feed it?",
    "--gate": "Bore of the gate",
    "--max-vents": "Add a vent",
    "--measured": "A length of the original",
    "--parting": "How does the split run?",
    "--parting-height": "Height of a level split",
    "--place": "Where will the part live?",
    "--silicone": "Silicone",
    "--resin": "Resin",
    "--thickness": "It is a sheet this thick",
    "--units": "How large is it really?",
    "--up": "How does the mould stand at the pour?",
    "--vent": "Add a vent",
    "--wall": "Silicone beside it",
    "--water": "What it pushes aside in water",
    "--yes": "How large is it really?",
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

    def say(found):
        command, option, value = found.groups()
        if command or option not in CONTROLS:
            return found.group()
        label = f'"{CONTROLS[option]}"'
        return f"{label} at {value}" if value else label

    return _OPTION.sub(say, text)


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
