"""One word for one thing: words that no text of the catalogue uses, and no letters behind numbers.

The words are those that a bench uses and readers of the sheets understood at first
reading; common practice, no source.
"""

import re

from castplan.record import BASES, Sourced
from castplan.texts import english
from castplan.texts.told import tell_data
from castplan.words import formats

# What is not said, and what is said instead.
NOT_SAID = {
    r"cop(y|ies)(?! the)": "casting",  # one copies the arrow
    r"casts": "castings",
    r"(the|a|one|each|every|per|next|first|last) cast": "casting",
    r"split(s|ting)?": "parting line, parting surface, parting",
    r"ways? (of pulling|to pull)|pull(ed)? (it|them|along)": "draw direction",
    r"what holds|nothing is held|is held in|(holds?|held) (nothing|rubber)": "undercut, traps",
    r"leaves (freely|with)|frees?|freed": "releases, comes out",
    r"flex(es|ed)?|forgives?|locked": "stretches out, allows, will not come out",
    r"way up|attitudes?|stand (it|the mould) (up|lying|standing|another)": "pouring position",
    r"roofs?": "high point, ceiling",
    r"rise over": "height above the dip beside it",
    r"caught|keeps? (no )?air": "trapped",
    r"the part itself|entombed": "the original",
    r"min (more|for)|costs? about": "points of effort",
    r"put away|take (it )?along": "archive, download",
    r"heal(s|ed)?|mend(s|ed|ing)?": "repair",
    r"face that shows": "side that will be seen",
    r"winding number": "inside and outside were estimated",
    r"besides|pushes aside": "as well, displaces",
    r"rubber": "silicone",
    r"(a|per) copy|an hour|minutes a": "per casting, per hour",
}
# Texts that use such a word, and why they may.
EXCEPT = {
    "step.clean": "a flaw of the original is mended, not a mesh",
    "mesh_change.split": "edges of a mesh are split, not a mould",
    "split.depth_sideways_way_out_of": "the model is of rubber of any kind",
}
# Topics that only the terminal says: they may name options as they are typed.
TYPED = ("learn",)
LETTER = re.compile(r"\s?\[[a-z]\]")
TYPED_OPTION = re.compile(r"(?<!\{)--[a-z]")
FILE_NAME = re.compile(r"\b\w+\.(pdf|json|npz|svg|dxf|html|stl|3mf)\b")


def sentences(catalogue):
    """(key, text) of every form, the names of its fields left out."""
    for key, entry in catalogue.items():
        for text in entry.values() if isinstance(entry, dict) else (entry,):
            yield key, re.sub(r"\{(?!--)[^}]*\}", "", text)


def not_plain(catalogue):
    """(key, word, what to say) of every text that uses a word that is not said."""
    return [
        (key, found[0], say)
        for key, text in sentences(catalogue)
        for word, say in NOT_SAID.items()
        if (found := re.search(rf"\b(?:{word})\b", text, re.IGNORECASE))
    ]


def test_every_text_says_the_words_of_the_bench():
    assert [found for found in not_plain(english()) if found[0] not in EXCEPT] == []


def test_every_exception_is_needed():
    assert {key for key, _, _ in not_plain(english())} == set(EXCEPT)


def test_the_search_for_words_can_fail():
    texts = {
        "a.one": "The level split holds nothing.",
        "a.two": {"one": "{n} copy", "other": "{n} castings"},
        "a.three": "Splitting hairs about {split}; a freehold frees no rubbery casting.",
        "a.four": "A casting is trapped.",
    }
    assert [(key, word) for key, word, _ in not_plain(texts)] == [
        ("a.one", "split"),
        ("a.one", "holds nothing"),
        ("a.two", "copy"),
        ("a.three", "Splitting"),
        ("a.three", "frees"),
    ]


def test_no_letter_stands_behind_a_number():
    assert [key for key, text in sentences(english()) if LETTER.search(text)] == []
    for basis in BASES:
        number = Sourced(value=12.0, unit="mm", basis=basis, source=tell_data("nothing"))
        told = [formats.behind(basis), formats.sourced_text(number)]
        assert not any(LETTER.search(text) for text in told)
    assert LETTER.search("12 mm [c]")


def test_no_text_names_an_option_or_a_file_of_the_command():
    wrong = {
        key
        for key, text in sentences(english())
        if TYPED_OPTION.search(text) or FILE_NAME.search(text)
    }
    assert {key for key in wrong if key.split(".")[0] not in TYPED} == set()
    assert TYPED_OPTION.search("Say --up.") and not TYPED_OPTION.search("Say {--up}.")
    assert FILE_NAME.search("boards.svg holds them")
