"""Kinds of source, told from their words: ``python tests/source_kinds.py [REPOSITORY]``.

Prints how many numbers of the cards, verdicts, cautions and said numbers rest on each
kind, so that two checkouts can be compared.
"""

import ast
import re
import sys
import tomllib
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[1]
# The first that fits is what a source is counted as: what is weakest comes first.
KINDS = {
    "from memory": r"\bfrom memory\b",
    "common practice, no source": r"common practice, no source",
    "assumed": r"\bassumed\b",
    "data sheets of the class": r"(?:typical of|named by) published data sheets for this class",
    "the shop's own": r"supplier's data sheet:|not on the sheet",
    "journal": r"\b\d+ \((?:19|20)\d\d\) \d+|\bdoi 10\.\d+/|IARC Monographs \d+",
    "handbook": r"Handbook, |Roark|Timoshenko",
    "standard": r"\b(?:EN ISO|ISO|IEC|EN|IS|DIN|ASTM|ANSI(?:/ISEA)?|ASME|IACS UR|MIL-STD)[ -]\w*\d",
    "regulation": r"\b(?:CLP|REACH|EH40|NIOSH|OSHA)\b|\b\d+ CFR \d|\bDirective (?:\(EU\) )?\d|"
    r"Regulation \(E[UC]\)",
    "textbook": r"\bp(?:age|\.) \d",
    "computed": r"\bcomputed\b|\bclosed form\b|one over|over specific heat|each at its end",
}
_HOST = re.compile(
    r"\b[a-z0-9-]+\.(?:com|net|org|info|pro|edu|gov|eu|io|ai|de|uk|co\.uk|ac\.uk)\b", re.I
)
_LOOSE = re.compile(
    r"\b(?:public pages|supplier(?:s'|'s) (?:public )?(?:pages?|guides?|tutorial)|web ?shop|"
    r"forum|blog|hobby|answer page|course page|homework)\b",
    re.I,
)
_TYPICAL = re.compile(
    r"typical of published data sheets for this class, range (-?[\d.]+) to (-?[\d.]+), (\d+) read"
)
# What a basis asks of its source: a kind that must be told, and kinds that belie it. A
# number that is assumed or from memory says so by its basis; its source may be silent, but
# may not cite what nobody looked up.
_CLAIMS = {"from memory", "common practice, no source"}
_CITED = {"data sheets of the class", "journal", "handbook", "standard", "regulation", "textbook"}
BASIS = {
    "from memory": (set(), {"common practice, no source"}),
    "common practice": ({"common practice, no source"}, {"from memory"}),
    "assumed": (set(), {"common practice, no source", "from memory"}),
    "data sheet": ({"data sheets of the class", "the shop's own"}, _CLAIMS),
    "handbook": ({"handbook"}, _CLAIMS),
    "standard": ({"standard", "regulation"}, _CLAIMS),
    "computed": (set(), {"common practice, no source", "data sheets of the class"}),
    "measured": (set(), _CLAIMS),
}


def kinds_of(text: str) -> list[str]:
    """Every kind of source that a text names, the weakest first."""
    return [kind for kind, words in KINDS.items() if re.search(words, text)]


def faults_of(text: str, basis: str | None = None) -> list[str]:
    """What is wrong with a source, and with its basis; empty where nothing is."""
    faults = []
    if _HOST.search(text) or _LOOSE.search(text):
        faults.append("a page of the web")
    kinds = kinds_of(text)
    if not kinds and basis not in ("computed", "measured", "assumed", "from memory"):
        faults.append("of no known kind")
    if basis is not None:
        asked, belied = BASIS[basis]
        if asked and not asked & set(kinds):
            faults.append(f"no word of its basis, {basis}")
        is_silent = basis in ("assumed", "from memory") and "from memory" not in kinds
        if belied & set(kinds) or (is_silent and _CITED & set(kinds)):
            faults.append(f"belies its basis, {basis}")
    return faults


def typical_of(text: str) -> tuple[float, float, int] | None:
    """Range and number of sheets that a source claims to have read."""
    found = _TYPICAL.search(text)
    return (float(found[1]), float(found[2]), int(found[3])) if found else None


def catalogue(root: Path = ROOT) -> dict[str, str]:
    """Every English text by its key."""
    folder = root / "castplan" / "texts" / "en"
    read = (tomllib.loads(path.read_text("utf-8")) for path in sorted(folder.glob("*.toml")))
    return {
        f"{table}.{name}": text
        for tables in read
        for table, entries in tables.items()
        for name, text in entries.items()
        if isinstance(text, str)
    }


def of_cards(root: Path = ROOT):
    """(where, source, basis) of every number of the class cards."""
    text = (root / "castplan" / "materials" / "cards.toml").read_text("utf-8")
    for card, entries in tomllib.loads(text).items():
        for name, number in entries.items():
            if isinstance(number, dict):
                yield f"{card}.{name}", number["source"], number["basis"]


def of_verdicts(root: Path = ROOT):
    """(where, source, basis) of every verdict of what meets what."""
    text = (root / "castplan" / "materials" / "compat.toml").read_text("utf-8")
    texts = catalogue(root)
    usual = texts.get("material.practice") or texts["material.pages"]
    for what, things in tomllib.loads(text).items():
        for name, entries in things.items():
            for chemistry, told in entries.items():
                if isinstance(told, dict):
                    where = f"{what}.{name}.{chemistry}"
                    yield where, told.get("source", usual), told["basis"]


def of_cautions(root: Path = ROOT):
    """(where, source, None) of every caution, with its limits."""
    text = (root / "castplan" / "materials" / "cautions.toml").read_text("utf-8")
    for key, entry in tomllib.loads(text).items():
        yield key, entry["source"], None
        if "limits" in entry:
            yield f"{key}.limits", entry["limits"], None


def of_chemistries(root: Path = ROOT):
    """(where, source, basis) of every number of a chemistry."""
    path = root / "castplan" / "materials" / "chemistries.toml"
    if not path.exists():
        return
    for chemistry, entries in tomllib.loads(path.read_text("utf-8")).items():
        for name, number in entries.items():
            if isinstance(number, dict):
                yield f"{chemistry}.{name}", number["source"], number["basis"]


def of_said_numbers(root: Path = ROOT):
    """(where, source, basis) of numbers taken for granted: calls of `said_number`."""
    texts = catalogue(root)
    for path in sorted((root / "castplan").rglob("*.py")):
        for call in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(call, ast.Call) or getattr(call.func, "id", "") != "said_number":
                continue
            basis = "assumed"
            for keyword in call.keywords:
                if keyword.arg == "basis":
                    basis = keyword.value.value
            for key in _keys(call.args[0], texts):
                # What carries another number's source says nothing of its own.
                if "source}" not in texts[key]:
                    yield key, texts[key], basis


def _keys(node, texts):
    """The key that a call names, or all that fit one with a field in it."""
    if isinstance(node, ast.Constant):
        return [node.value]
    words = [re.escape(p.value) if isinstance(p, ast.Constant) else r"\w+" for p in node.values]
    return [key for key in texts if re.fullmatch("".join(words), key)]


def everything(root: Path = ROOT):
    """All of them."""
    for sources in (of_cards, of_chemistries, of_verdicts, of_cautions, of_said_numbers):
        for where, text, basis in sources(root):
            yield sources.__name__.removeprefix("of_"), where, text, basis


def main(root: Path) -> None:
    """Print the table."""
    counts, groups = Counter(), []
    for group, _, text, basis in everything(root):
        if group not in groups:
            groups.append(group)
        loose = _HOST.search(text) or _LOOSE.search(text)
        silent = basis if basis in KINDS else "none told"
        kind = "web pages" if loose else (kinds_of(text) or [silent])[0]
        counts[group, kind] += 1
    kinds = [*KINDS, "web pages", "none told"]
    print(f"{'':28}", *(f"{group:>13}" for group in groups))
    for kind in kinds:
        row = [counts[group, kind] for group in groups]
        if any(row):
            print(f"{kind:28}", *(f"{n:13}" for n in row))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT)
