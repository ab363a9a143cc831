"""A made-up language that runs from right to left: every Latin letter becomes an Arabic one.

It shows at a glance what was not marked for translation, and how the page bears longer words and
the other direction, without anybody having to read Arabic.
"""

import re
from pathlib import Path

import polib

from tests.spoken import sayings

CODE = "ar"  # a language Django knows to run from right to left
LETTERS = "ابتثجحخدذرزسشصضطظعغفقكلمنه"
GAP = re.compile(r"(%\(\w+\)s)")


def turned(text: str) -> str:
    """The text in letters of the other direction, a third longer; gaps are kept."""
    parts = GAP.split(text)
    turned = "".join(part if GAP.fullmatch(part) else _letters(part) for part in parts)
    return turned + " " + LETTERS[: len(text) // 3] if len(text) > 3 else turned


def _letters(text: str) -> str:
    def letter(found: re.Match[str]) -> str:
        return LETTERS[ord(found[0].lower()) - ord("a")]

    return re.sub("[A-Za-z]", letter, text)


def write(folder: Path) -> None:
    """Write the made-up language below ``folder``, as LOCALE_PATHS wants it."""
    po = polib.POFile()
    po.metadata = {
        "Content-Type": "text/plain; charset=utf-8",
        "Plural-Forms": "nplurals=2; plural=(n != 1);",
    }
    for saying in sayings().values():
        if saying.context == "date format":
            continue
        entry = polib.POEntry(msgid=saying.text, msgctxt=saying.context or None)
        if saying.plural:
            entry.msgid_plural = saying.plural
            entry.msgstr_plural = {0: turned(saying.text), 1: turned(saying.plural)}
        else:
            entry.msgstr = turned(saying.text)
        po.append(entry)
    place = folder / CODE / "LC_MESSAGES"
    place.mkdir(parents=True)
    po.save_as_mofile(str(place / "django.mo"))
