"""Shapes for a page that draws hundreds of them: stated once on the page itself, then named."""

import re
from functools import cache
from pathlib import Path

from django.contrib.staticfiles import finders
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from progress.pages.shared import shapes

PREFIX = "s-"  # the page has ids of its own
LEAVE_OUT = "result-none"
NAMES = (
    *(mark.shape for mark in shapes.RESULTS.values()),
    *(mark.shape for mark in (shapes.HOLD, shapes.CHECK, shapes.MISSING, shapes.GATE_NOT_HELD)),
    *(mark.shape for mark in (shapes.HERE, shapes.AWAY, shapes.REFUSED)),
    LEAVE_OUT,
)
SYMBOL = re.compile(r'<symbol id="([\w-]+)"(.*?)</symbol>', re.DOTALL)


@cache
def symbols() -> SafeString:
    """The drawings of the shapes a sheet uses, to stand once on its page."""
    found = finders.find("progress/shapes.svg")
    if not isinstance(found, str):
        raise FileNotFoundError("progress/shapes.svg")
    drawn = dict(SYMBOL.findall(Path(found).read_text(encoding="utf-8")))
    inside = "".join(f'<symbol id="{PREFIX}{name}"{drawn[name]}</symbol>' for name in NAMES)
    return mark_safe(f'<svg hidden width="0" height="0" aria-hidden="true">{inside}</svg>')


@cache
def drawn(name: str) -> SafeString:
    """One shape by name; it is decoration, so a word must stand beside it."""
    return format_html('<svg aria-hidden="true"><use href="#{}{}"/></svg>', PREFIX, name)


@cache
def marked(mark: shapes.Mark, css: str = "mark") -> SafeString:
    """A shape and its word, kept together on one line."""
    return format_html('<span class="{}">{}{}</span>', css, drawn(mark.shape), mark.word)
