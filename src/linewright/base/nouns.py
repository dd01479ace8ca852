"""Names of things in the plural, and so much of something as a person says it: ``36 trailers``, ``400 L of cider``.

English by rule, with the irregular words of a workshop; a name that does not end in a word is left as it is.
"""

from __future__ import annotations

import re

IRREGULAR = {
    "knife": "knives", "shelf": "shelves", "half": "halves", "leaf": "leaves", "loaf": "loaves", "sheaf": "sheaves",
    "foot": "feet", "man": "men", "woman": "women", "person": "people", "axis": "axes",
    "pcs": "pcs", "series": "series", "chassis": "chassis", "scissors": "scissors", "stock": "stock",
}  # fmt: skip
"""Plurals that no rule gives; the last word of a name decides."""

_HEAD = re.compile(r"^(.*?)(,.*| \(.*| \d.*| (?:of|for|with|without|in|from|to|at|on|as|and|stripped) .*)?$")


def plural(name: str) -> str:
    """A name in the plural: the word that carries it changes, what follows it stays.

    >>> plural("trailer"), plural("hive kit"), plural("pair of boots"), plural("boxed boots"), plural("box")
    ('trailers', 'hive kits', 'pairs of boots', 'boxed boots', 'boxes')
    >>> plural("frame, 12 mm"), plural("screw 4 x 40"), plural("plough knife"), plural("assembly"), plural("M8")
    ('frames, 12 mm', 'screws 4 x 40', 'plough knives', 'assemblies', 'M8')
    """
    found = _HEAD.match(name)
    if found is None:
        return name
    head, rest = found[1], found[2] or ""
    before, space, word = head.rpartition(" ")
    return f"{before}{space}{_plural_word(word)}{rest}"


def _plural_word(word: str) -> str:
    small = word.lower()
    if small in IRREGULAR:
        made = IRREGULAR[small]
        return made.capitalize() if word[:1].isupper() else made
    if not word[-1:].isalpha() or _is_plural(small):
        return word
    if small.endswith("y") and small[-2:-1] not in "aeiou":
        return word[:-1] + "ies"
    if small.endswith(("s", "x", "z", "ch", "sh")):
        return word + "es"
    return word + "s"


def _is_plural(word: str) -> bool:
    """Whether a word reads as a plural already: boots, but not press, bus or axis."""
    return word.endswith("s") and not word.endswith(("ss", "us", "is", "as"))


def so_many(number: float, text: str, unit: str, name: str, *, counted: bool) -> str:
    """So much of an item: ``number`` with its ``text``, in the item's unit or count noun.

    >>> so_many(36, "36", "each", "trailer", counted=True), so_many(1, "1", "each", "trailer", counted=True)
    ('36 trailers', '1 trailer')
    >>> so_many(120, "120", "pair", "pair of boots", counted=True), so_many(4, "4", "sheet", "pine", counted=True)
    ('120 pairs of boots', '4 sheets of pine')
    >>> so_many(400, "400", "L", "cider", counted=False)
    '400 L of cider'
    """
    if not counted:
        return f"{text} {unit} of {name}"
    if unit not in ("each", "piece", "pieces", "pcs") and unit not in re.split(r"[\s,-]+", name.lower()):
        noun = unit if number == 1 else plural(unit)
        return f"{text} {noun} of {name}"
    return f"{text} {name if number == 1 else plural(name)}"
