"""Options of the command as the page names them: controls by their labels."""

from castplan.texts import options_named, say

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
    "--mould": "page_control.mould",
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


def control_named(option: str, value: str = "") -> str:
    """An option by the label of its control, with the value that it is to have.

    Parameters
    ----------
    option : str
        ``--draw``; without a control it stays as it is.
    value : str
        As it is typed behind the option, ``=0,0,1``.
    """
    if option not in CONTROLS:
        return option + value
    control = say(CONTROLS[option])
    if value:
        return say("page_control.set_to", control=control, value=value.removeprefix("="))
    return say("page_control.named", control=control)


def by_controls():
    """Name options by their controls in all that is said inside the ``with`` block."""
    return options_named(control_named)
