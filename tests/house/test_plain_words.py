"""One word for one thing: words that no text of the catalogue uses, and no letters behind numbers.

The words are those that a bench uses and readers of the sheets understood at first
reading; common practice, no source.
"""

import re

from castplan.materials.cards import class_cards
from castplan.materials.cautions import load_cautions
from castplan.materials.compat import load_matrix
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
# Words of cards, cautions and of what meets what that may stand there: rubbers that are none
# of silicone, and clay without sulphur.
EXCEPT_DATA = {"rubber": ("latex", "vulcanised-rubber", "butyl"), "free": ("sulphur-free",)}
# A sentence, or what stands behind a colon, has a verb in one of these forms: a list of what
# cautions and verdicts say, so that a new one has to be read before it is added.
VERBS = (
    r"is|are|can|may|must|does|do|has|have|holds?|keeps?|makes?|gives?|leaves?|stops?|slows?|"
    r"sticks?|soaks?|comes?|passes|pass|burns?|damages|reacted|use|wear|take|tape|bake|bend|"
    r"bends|brace|seal|wash|fill|let|air|cut|sand|go|lead|read|clamp|warm|slit|work|fly|rinse|"
    r"store|smell|bonds|softens|grow|stay|never|extract|causes?|cures|releases|wears?|swells|cracks|lets|look|put|pour|needs"
)
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


def words_of_materials():
    """(where, words) of what cards, cautions and the matrix say on paper."""
    for key, caution in load_cautions().items():
        yield key, str(caution.title)
        yield key, str(caution.text)
    for things in load_matrix().values():
        for name, thing in things.items():
            yield name, str(thing.words)
            yield from ((name, str(meeting.reason)) for meeting in thing.meets.values())
    for key, card in class_cards().items():
        yield key, str(card.title)
        yield from ((key, str(thing)) for thing in card.incompatible)


def test_cards_cautions_and_verdicts_say_the_words_of_the_bench():
    found = [
        (where, text)
        for where, text in words_of_materials()
        for _, word, _ in not_plain({where: text})
        if where not in EXCEPT_DATA.get(word, ())
    ]
    assert found == []


def without_verb(text):
    """Sentences of a text in which no verb of the bench stands."""
    parts = re.split(r"(?<=[.!?]) ", text)
    return [part for part in parts if not re.search(rf"\b(?:{VERBS})\b", part, re.IGNORECASE)]


def test_cautions_and_verdicts_are_sentences():
    """No headlines: each sentence, and each reason behind a colon, has a verb."""
    told = [str(caution.text) for caution in load_cautions().values()]
    for things in load_matrix().values():
        for thing in things.values():
            told += [str(meeting.reason) for meeting in thing.meets.values()]
    assert [part for text in told for part in without_verb(text)] == []
    assert without_verb("Gloves and eye cover; no skin contact.") != []
    assert without_verb("porous, with open grain") != []


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
