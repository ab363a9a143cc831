"""The floor's limits: everybody who coaches may read them, the lead changes them."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from progress.engine.rules import Rules
from progress.models import Role, StaffMember
from progress.pages.limits.forms import BaseBands, LimitsForm, bands_form
from progress.pages.limits.items import (
    ADULTS,
    CPSU,
    GROUPS,
    ITEMS,
    RATIOS,
    differences,
    ratio_words,
    weaker_ages,
)
from progress.pages.shared.access import coach_or_lead
from progress.usecases.change_rules import (
    RulesConflict,
    RulesRefused,
    RuleVersion,
    change_rules,
    rule_versions,
)

DEFAULTS = Rules()


@dataclass(frozen=True)
class VersionRow:
    """A version in the list of earlier ones, with what it changed.

    ``back``: the lead may go back to it, on the rules page, which first shows who would change.
    """

    version: RuleVersion
    changed: list[str]
    back: bool


@coach_or_lead
def floor_limits(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Show the limits with their versions; store what the lead sends."""
    versions = rule_versions()
    if request.method != "POST":
        return _show(request, staff, versions)
    if staff.role != Role.LEAD:
        raise Http404
    return _save(request, staff, versions)


def _save(
    request: HttpRequest, lead: StaffMember, versions: tuple[RuleVersion, ...]
) -> HttpResponse:
    base = _seen(request, versions)
    form, bands = LimitsForm(request.POST, rules=base), bands_form(base, request.POST)
    if not (form.is_valid() & bands.is_valid()):
        return _show(request, lead, versions, form, bands, status=422)
    values = _values(form, bands, base)
    try:
        book = change_rules(
            values=values,
            why=form.cleaned_data["why"],
            lead=lead,
            expected=form.cleaned_data["expected"],
            now=timezone.now(),
        )
    except RulesConflict as conflict:
        return _conflict(request, lead, base, values, str(conflict))
    except RulesRefused as refused:
        problems = dict(refused.problems)
        of_bands = {"bands_problem": problems.pop(RATIOS, "")}
        for name, problem in problems.items():
            form.add_error(name if name in form.fields else None, problem)
        return _show(request, lead, versions, form, bands, 422, of_bands)
    messages.success(request, f"Version {book.version} of the rules holds from now on.")
    return redirect("floor_limits")


def _values(form: LimitsForm, bands: BaseBands, base: Rules) -> dict[str, Any]:
    """Only what the lead changed, so that nothing else is set back by the way."""
    values = form.changed_values()
    rows = bands.rows()
    if rows != [dict(one) for one in base.as_json()[RATIOS]]:
        values[RATIOS] = rows
    return values


def _seen(request: HttpRequest, versions: tuple[RuleVersion, ...]) -> Rules:
    """The version that the lead was looking at; the newest where that is unknown."""
    sent = request.POST.get("expected", "")
    return next((one.rules for one in versions if str(one.version) == sent), versions[0].rules)


def _conflict(
    request: HttpRequest, lead: StaffMember, base: Rules, mine: dict[str, Any], says: str
) -> HttpResponse:
    """The form again: this lead's changes over what the other one saved, and what that was."""
    versions = rule_versions()
    theirs = versions[0].rules
    messages.error(request, says)
    shown = {item.name for item in ITEMS}
    initial: dict[str, Any] = {"why": request.POST.get("why", "")}
    initial |= {name: request.POST.get(name, "") for name in mine if name in shown}
    ratios = mine.get(RATIOS, theirs.as_json()[RATIOS])
    context = {"theirs": differences(base, theirs)}
    form = LimitsForm(rules=theirs, over=initial)
    return _show(request, lead, versions, form, bands_form(theirs, None, ratios), 409, context)


def _show(
    request: HttpRequest,
    staff: StaffMember,
    versions: tuple[RuleVersion, ...],
    form: LimitsForm | None = None,
    bands: BaseBands | None = None,
    status: int = 200,
    more: dict[str, Any] | None = None,
) -> HttpResponse:
    rules = versions[0].rules
    may_change = staff.role == Role.LEAD
    form = form or LimitsForm(rules=rules)
    context = {
        "may_change": may_change,
        "rules": rules,
        "form": form,
        "bands": bands or bands_form(rules),
        "groups": [(group, [_row(item, form, rules) for item in group.items]) for group in GROUPS],
        "ratio_rows": [(one, _ages(weaker_ages(one, rules.ratios))) for one in rules.ratios],
        "default_ratios": ratio_words(DEFAULTS.ratios),
        "cpsu": CPSU,
        "versions": _version_rows(versions, may_change),
        **(more or {}),
    }
    return render(request, "progress/limits/page.html", context, status=status)


def _row(item: Any, form: LimitsForm, rules: Rules) -> dict[str, Any]:
    return {
        "item": item,
        "field": form[item.name],
        "words": item.in_words(rules),
        "default": item.in_words(DEFAULTS),
        "own": getattr(rules, item.name) != getattr(DEFAULTS, item.name),
        "weaker": item is ADULTS and rules.least_adults < DEFAULTS.least_adults,
    }


def _ages(ages: tuple[int, ...]) -> str:
    """``3``, ``0 to 2``; empty where there is none. A band's weaker ages stand together."""
    if not ages:
        return ""
    return str(ages[0]) if len(ages) == 1 else f"{ages[0]} to {ages[-1]}"


def _version_rows(versions: tuple[RuleVersion, ...], may_change: bool) -> list[VersionRow]:
    rows = []
    for place, one in enumerate(versions):
        before = versions[place + 1].rules if place + 1 < len(versions) else one.rules
        back = may_change and place > 0
        rows.append(VersionRow(one, differences(before, one.rules), back))
    return rows
