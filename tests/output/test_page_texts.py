"""Texts on pages: a script says what Python says, and gets no more than it names."""

import json
import re

import pytest
from output.greek import GREEK, greek_catalogue

from castplan import texts
from castplan.view import page as view_page
from castplan.words import page_texts

# Python's own `str.format_map` fills the fields of `texts.say`; the script must agree.


@pytest.fixture(scope="module")
def say_in_browser(browser):
    """Say (key, fields) pairs by the page's script, with these texts."""
    script = (view_page.FILES / "say.js").read_text("utf-8").replace("export ", "")
    page = browser.new_page()

    def say(catalogue, wanted):
        return page.evaluate(
            "([script, catalogue, wanted]) => { const { say, useTexts } = new Function("
            "`${script}\nreturn { say, useTexts };`)(); useTexts(catalogue);"
            " return wanted.map(([key, fields]) => { try { return say(key, fields); }"
            " catch (error) { return `Error: ${error.message}`; } }); }",
            [script, catalogue, wanted],
        )

    yield say
    page.close()


def test_a_script_says_every_text_as_python_does(say_in_browser):
    wanted = []
    for key, entry in texts.english().items():
        # No script says numbers and lists in a form of their own, or options of the command.
        forms = entry.values() if isinstance(entry, dict) else (entry,)
        if any(re.search(r"\{[^{}]*[:-]", form) for form in forms):
            continue
        told = {name: f"<{name}>" for name in texts.fields_of(entry)}
        wanted += [(key, told | {"n": n}) for n in (1, 2)]
    assert len(wanted) > len(texts.english())
    said = say_in_browser(texts.english(), wanted)
    assert said == [texts.say(key, **told) for key, told in wanted]


def test_braces_stay_and_a_missing_field_or_text_is_an_error(say_in_browser):
    catalogue = {"a.braces": "{{{width}}} mm", "a.field": "{width} mm"}
    assert say_in_browser(catalogue, [("a.braces", {"width": 3})]) == [
        catalogue["a.braces"].format(width=3)
    ]
    assert say_in_browser(catalogue, [("a.field", {}), ("a.none", {})]) == [
        "Error: a.field needs the field width",
        "Error: there is no text a.none",
    ]


def test_a_script_gets_the_texts_it_names_in_the_language_spoken():
    script = """tell(say('view.stop')); const KEYS = { a: "count.vent" }; import './view.play';"""
    assert page_texts.texts_of_script(script) == {
        "count.vent": texts.english()["count.vent"],
        "view.stop": "Stop",
    }
    texts.use(greek_catalogue())
    try:
        assert page_texts.texts_of_script(script)["view.stop"] == "Stop".translate(GREEK)
    finally:
        texts.use({})


def test_markup_is_filled_and_texts_in_it_are_escaped():
    texts.use({"view.stop": "<b>&", "language.code": "de"})
    try:
        markup = '<html lang="{{language.code}}">{{PART}} {{view.stop}} {{not a key}}'
        assert page_texts.filled(markup, {"PART": "<i>{{view.play}}</i>"}) == (
            '<html lang="de"><i>{{view.play}}</i> &lt;b&gt;&amp; {{not a key}}'
        )
    finally:
        texts.use({})


def test_json_in_a_page_cannot_end_its_element():
    told = page_texts.json_in_page({"a": "</script>"})
    assert "<" not in told and json.loads(told) == {"a": "</script>"}
