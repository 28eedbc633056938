"""The catalogue on pages: markup names its texts in double braces, scripts by ``say``.

A script writes a key out in full, in quotes, wherever it uses it; the page gets
the texts of just those keys as JSON, which `view_files/say.js` reads.
"""

import json
import re
from html import escape

from castplan import texts
from castplan.texts.told import Told
from castplan.words import formats

_IN_SCRIPT = re.compile(r"""(["'])([a-z][a-z0-9_]*\.[a-z0-9_]+)\1""")
_IMPORT = re.compile(r"^import .*?;\n", re.M)
_EXPORT = re.compile(r"^export ", re.M)
_IN_MARKUP = re.compile(r"\{\{([a-z][a-z0-9_]*\.[a-z0-9_]+|[A-Z]+)\}\}")


def as_one(modules) -> str:
    """Sources of modules put one after the other as one script, in the order given."""
    return "\n".join(_EXPORT.sub("", _IMPORT.sub("", module)) for module in modules)


def keys_in_script(script: str) -> list[str]:
    """Keys of the catalogue that a script holds in quotes, sorted."""
    return sorted({hit[2] for hit in _IN_SCRIPT.finditer(script)} & texts.english().keys())


def texts_of_script(script: str) -> dict[str, str | dict[str, str]]:
    """What a script can say, in the language that is spoken: for `useTexts`.

    Parameters
    ----------
    script : str
        Its source, or several put together.

    Returns
    -------
    dict
        By key, a text with its fields in braces, or its two forms.
    """
    return {key: texts.entry_of(key) for key in keys_in_script(script)}


def json_in_page(data) -> str:
    """JSON for an element of a page; holds no ``<``, so that it cannot end that element."""
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")


def filled(markup: str, parts: dict[str, str]) -> str:
    """Markup with its texts said, and its large-letter names replaced.

    Parameters
    ----------
    markup : str
    parts : dict
        By name, what stands in its place as it is: markup, escaped before.

    Returns
    -------
    str
    """

    def put(hit):
        name = hit[1]
        return parts[name] if name.isupper() else said(name)

    return _IN_MARKUP.sub(put, markup)


def said(key: str, **fields) -> str:
    """A text as markup."""
    return escape(texts.say(key, **fields))


def marked(told: Told | str) -> str:
    """What is told as markup, basis letters raised."""
    return escape(formats.raised(str(told)))
