"""What outputs tell of gate and vents, and of the tilt at the pour."""

import re

from agreement_read import LABELS, number, step

# -- openings --------------------------------------------------------------------


def _pours(words):
    """Before which pours something is set, by what is said of when."""
    if "not at all" in words or "drill it" in words:
        return frozenset()
    second = {"second"} if "second pour" in words else set()
    is_first = not second or "rod" in words
    return frozenset(second | ({"first"} if is_first else set()))


def _set_in_steps(told):
    found: dict[str, set] = {}
    pour = "first"
    for kind, text in told.steps:
        if kind == "turn":
            pour = "second"
        if kind == "drill":
            for label in re.findall(r"\d+", text):
                found.setdefault(label, set())
        if kind == "sticks" or (kind == "fix" and "on its sticks" in text):
            for label in re.findall(r"(?:[Gg]ate|vent) (G?\d*)\b", text):
                found.setdefault(label, set()).add(pour)
    return {label: frozenset(pours) for label, pours in found.items()}


def _set_on_air_sheet(told):
    """The table of ways out of the box: label, and the words under "when"."""
    found = {}
    for page in (page for page in told.pages if page.title.startswith("Air:")):
        named = ("comes out at", "when to make it")
        heads = {text.text: text for text in page.texts if text.text in named}
        if len(heads) < 2:
            continue
        when = heads["when to make it"]
        ends = [t.y for t in page.texts if t.text == "Gate and cup" and t.y < when.y]
        low = max(ends, default=0.0)
        below = [text for text in page.texts if low < text.y < when.y - 1]
        labels = sorted(
            (
                t
                for t in below
                if re.fullmatch(r"G?\d*", t.text) and t.x < heads["comes out at"].x - 60
            ),
            key=lambda text: -text.y,
        )
        labels = [text for text in labels if text.is_bold]
        for text, after in zip(labels, [*(t.y for t in labels[1:]), low], strict=True):
            words = [t.text for t in below if after < t.y <= text.y and abs(t.x - when.x) < 1]
            found[text.text] = _pours(" ".join(words))
    return found


def openings(told):
    """Label of every opening, and before which pours of silicone it is set."""
    page = next(card for card in told.page["cards"] if card["id"] == "air")
    seen = re.findall(r"(?:Gate|Vent) (G?\d*) [\d.]+ mm wide.*?Do: (.*?\.)", told.view)
    found = {
        "steps": _set_in_steps(told),
        "air sheet": _set_on_air_sheet(told),
        "view": {label: _pours(words) for label, words in seen},
        "page": {row[0]: _pours(row[-1]) for row in page["rows"]},
    }
    return {
        name: sorted((label, sorted(pours)) for label, pours in labels.items() if pours)
        for name, labels in found.items()
    }


def labels_open(told):
    """Labels of all that is open at the pour: card, steps, summary."""
    # A mould that is open has none, and says nothing of them.
    found = re.search(r"Open before each casting: ([^.]*)\.", told.sheets[LABELS])
    card = found[1] if found else ""
    # A block may be cut open too.
    summary = re.sub(r"\b[Cc]ut (?:the block )?open\b", "", told.summary)
    gates = re.search(r"open (?:gates? (.*?), (?:[\d.]+ to )?[\d.]+ mm)?", summary)
    named = set(_set_in_steps(told))
    count = number(r"(\d+) vents? \(", told.summary)
    vents = {label for label in named if not label.startswith("G")}
    straw = _after(r"Put a straw in (?:each of )?vents? ", step(told, "close"))
    straws = set(re.findall(r"\d+", straw))
    return {
        "card": set(re.findall(r"G?\d+|G", card)),
        "steps": named,
        "straws": straws | (named - vents),
        "summary": (
            named
            if int(count or 0) == len(vents) and set(re.findall(r"G\d*", gates[0])) == named - vents
            else {gates[0], str(count)}
        ),
    }


def _after(pattern, text):
    found = re.search(pattern, text)
    return "" if found is None else text[found.end() :].partition(". ")[0]


def tilt(told):
    """How far the box is propped up at the pour."""
    pattern = r"tilted (\d+) degrees"
    return {
        "summary": number(pattern, told.summary),
        "steps": number(pattern, step(told, "close")),
        "card": number(pattern, told.sheets[LABELS]),
        "view": number(rf"Pour with [^:]*?{pattern}", told.view),
    }
