"""The scripts of the page and of the view say their sentences from the catalogue too."""

import re
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "castplan"
SCRIPTS = (
    *sorted((PACKAGE / "page").glob("*.js")),
    PACKAGE / "view" / "view_files" / "view_page.js",
    PACKAGE / "view" / "view_files" / "view_hands.js",
)
CODES = {"{} pour by"}  # under which a timer is kept
COMMENTS = re.compile(r"/\*.*?\*/|(?<![:\"'])//[^\n]*", re.S)
# A text in quotes, with what stands before it.
LITERALS = re.compile(r"""(class: |Error\()?("(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)*'|`[^`]*`)""")
SELECTOR = re.compile("[.#]")
TWO_WORDS = re.compile(r"[^\W\d_]{2,}[ ,]+[^\W\d_]{2,}")


def sentences(source):
    """Every text of two words or more in a script, fields of templates as ``{}``."""
    found = []
    for before, quoted in LITERALS.findall(COMMENTS.sub("", source)):
        text = re.sub(r"\$\{[^}]*\}", "{}", quoted[1:-1])
        # Names of classes and what is thrown are no texts.
        if not before and not SELECTOR.match(text) and text not in CODES:
            found.append(text)
    return [text for text in found if TWO_WORDS.search(text)]


def test_no_sentence_is_left_in_the_scripts():
    assert len(SCRIPTS) > 8
    assert {path.name: sentences(path.read_text("utf-8")) for path in SCRIPTS} == {
        path.name: [] for path in SCRIPTS
    }


def test_the_search_for_sentences_in_scripts_can_fail():
    source = """
// A comment of many words.
const one = h("p", { class: "row controls" }, say("page.saved"), "It is saved");
const two = `${n} high points`; /* "no text" */ find('.list li'); throw new Error('is not here');
"""
    assert sentences(source) == ["It is saved", "{} high points"]
