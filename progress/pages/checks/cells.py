"""The cells of a sheet as HTML: hundreds on a page, so each says only what no heading says.

A cell belongs to the row and the column it stands in; both have an id, and together they name it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.http import urlencode
from django.utils.safestring import SafeString

from progress.engine.terms import Result
from progress.models import Attempt, GymClass
from progress.pages.checks.forms import LEAVE_OUT, Marking
from progress.pages.checks.symbols import LEAVE_OUT as NOTHING
from progress.pages.checks.symbols import drawn, marked
from progress.pages.shared import shapes
from progress.pages.shared.words import days_ago
from progress.usecases.open_sheet import SheetCell, SheetRow

STRONG = "mark mark-strong"
EMPTY = SafeString("")
CHOICES = (*reversed(Result), None)  # the best first, leaving out last


@dataclass(frozen=True)
class CellPlace:
    """Where a cell stands: column number ``column``, in view or not; ``names`` are ids."""

    column: int
    shown: bool
    names: str

    @property
    def hidden(self) -> SafeString:
        """The attribute that takes it out of view."""
        return EMPTY if self.shown else SafeString(" hidden")


def draw_before(cell: SheetCell, place: CellPlace) -> SafeString:
    """What was known before today, and what to mind."""
    said = [marked(shapes.CHECK, STRONG)] if cell.check else []
    said.append(_last(cell))
    if cell.missing:
        words = " and ".join(cell.missing)
        mark = marked(shapes.MISSING, STRONG)
        said.append(format_html("{}<span>Needs {} still first.</span>", mark, words))
    if cell.gate_not_held:
        said.append(marked(shapes.GATE_NOT_HELD, STRONG))
    items = format_html_join("", "<li>{}</li>", ((one,) for one in said))
    return format_html(
        '<td role="cell" class="before" data-k="{}"{}><p>{}</p><ul>{}</ul></td>',
        *(place.column, place.hidden, cell.skill, items),
    )


def draw_today(
    cell: SheetCell, row: SheetRow, gym_class: GymClass, place: CellPlace, marking: Marking | None
) -> SafeString:
    """Where today's tries are marked, or the hold that stops them."""
    inside = _held(cell) if cell.held_back else _tries(cell, row, gym_class, place, marking)
    return format_html(
        '<td role="cell" class="today" data-k="{}"{}>{}</td>', place.column, place.hidden, inside
    )


def _last(cell: SheetCell) -> SafeString:
    if cell.last is None:
        return SafeString('<span class="soft">No try yet</span>')
    day = timezone.localdate(cell.last.at)
    ago = days_ago(day, timezone.localdate())
    mark = marked(shapes.RESULTS[Result(cell.last.result)])
    return format_html('{} <time datetime="{}">{}</time>', mark, day.isoformat(), ago)


def _held(cell: SheetCell) -> SafeString:
    tries = format_html_join(
        "", "<li>{}</li>", ((marked(shapes.RESULTS[Result(t.result)]),) for t in cell.tries)
    )
    listed = format_html('<ul class="tally" aria-label="Today">{}</ul>', tries) if tries else EMPTY
    return format_html(
        '<div class="held-cell">{}<br><span class="small">Ask the lead.</span>{}</div>',
        *(marked(shapes.HOLD, STRONG), listed),
    )


def _tries(
    cell: SheetCell, row: SheetRow, gym_class: GymClass, place: CellPlace, marking: Marking | None
) -> SafeString:
    wrong = SafeString(" cell-wrong") if marking and marking.errors else EMPTY
    return format_html(
        '<fieldset class="tries{}" aria-labelledby="{}">{}{}</fieldset>',
        *(wrong, place.names, _choice(marking, place), _tally(cell.tries, row, gym_class)),
    )


def _choice(marking: Marking | None, place: CellPlace) -> SafeString:
    """What a browser without scripts marks a try with: radios, or a list where all skills show."""
    if marking is None:
        return EMPTY
    errors = format_html_join("", '<p class="errorlist">{}</p>', ((e,) for e in marking.errors))
    known = [result.value for result in Result]
    value = marking.marked if marking.marked in known else LEAVE_OUT
    if marking.short:
        head = '<select name="{}" aria-labelledby="{}">{}</select>{}'
        return format_html(head, marking.name, place.names, _options(value), errors)
    radios = format_html_join(
        "",
        '<label{}><input type="radio" name="{}" value="{}"{}>{}{}</label>',
        (_radio(result, marking.name, value) for result in CHOICES),
    )
    return format_html('<div class="choices">{}</div>{}', radios, errors)


def _radio(result: Result | None, name: str, value: str) -> tuple[object, ...]:
    checked = SafeString(" checked") if value == (result or LEAVE_OUT) else EMPTY
    if result is None:
        css = SafeString(' class="leave"')
        return css, name, LEAVE_OUT, checked, drawn(NOTHING), "Leave out"
    mark = shapes.RESULTS[result]
    return EMPTY, name, result.value, checked, drawn(mark.shape), mark.word


def _options(value: str) -> SafeString:
    known = [(r.value, shapes.RESULTS[r].word) for r in reversed(Result)]
    return format_html_join(
        "",
        '<option value="{}"{}>{}',
        (
            (key, SafeString(" selected") if key == value else EMPTY, word)
            for key, word in ((LEAVE_OUT, "Leave out"), *known)
        ),
    )


def _tally(tries: Sequence[Attempt], row: SheetRow, gym_class: GymClass) -> SafeString:
    """Today's tries, each leading to its correction; the script reads them from here too."""
    if not tries:
        return EMPTY
    back = urlencode({"sheet": gym_class.code})
    chips = []
    for one in tries:
        mark = shapes.RESULTS[Result(one.result)]
        address = reverse("correct_attempt", args=[row.athlete.code, one.uid])
        chips.append((one.result, address, back, mark.word, drawn(mark.shape)))
    items = format_html_join(
        "",
        '<li><a data-result="{}" href="{}?{}" aria-label="{}: correct">{}</a></li>',
        chips,
    )
    return format_html('<ul class="tally" aria-label="Today">{}</ul>', items)
