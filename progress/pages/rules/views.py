"""The rules: the lead reads them, tries other values, sees who would change, and saves."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from progress.engine.rules import Rules
from progress.models import Skill, StaffMember
from progress.pages.rules.forms import BaseHeights, RulesForm, height_rows, heights_form
from progress.pages.rules.items import (
    BAND,
    GROUPS,
    HEIGHTS,
    ITEMS,
    SAID,
    Item,
    differences,
    height_words,
)
from progress.pages.rules.previews import preview_context
from progress.pages.shared.access import lead_only
from progress.pages.shared.rule_forms import WhyForm
from progress.usecases.change_rules import (
    RulesConflict,
    RulesRefused,
    RuleVersion,
    change_rules,
    proposed_rules,
    rule_versions,
)
from progress.usecases.preview_rules import preview_rules
from progress.usecases.weaker_rules import weaker_guards

DEFAULTS = Rules()
NOT_KEPT = {"csrfmiddlewaretoken", "why"}


@dataclass(frozen=True)
class Sent:
    """What the lead sent, over the version they were looking at."""

    form: RulesForm
    heights: BaseHeights
    base: Rules
    versions: tuple[RuleVersion, ...]

    @classmethod
    def read(cls, sent: QueryDict) -> "Sent":
        versions = rule_versions()
        looked_at = sent.get("expected", "")
        seen = (one.rules for one in versions if str(one.version) == looked_at)
        base = next(seen, versions[0].rules)
        heights = heights_form(base, Skill.objects.all(), sent)
        return cls(RulesForm(sent, rules=base), heights, base, versions)

    @property
    def whole(self) -> bool:
        """Whether every field could be read."""
        return self.form.is_valid() & self.heights.is_valid()

    def values(self) -> dict[str, Any]:
        """Only what the lead changed, so that nothing else is set back by the way."""
        found = self.form.changed_values()
        rows = self.heights.rows()
        if rows != sorted(height_rows(self.base), key=lambda row: row["above_m"]):
            found[HEIGHTS] = rows
        return found

    @property
    def expected(self) -> int:
        """The version the lead was looking at."""
        return int(self.form.cleaned_data["expected"])


@lead_only
def rules_page(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """The rules as a form, with their versions. What is sent here comes back to be written on."""
    if request.method != "POST":
        return _show(request, rule_versions())
    sent = Sent.read(request.POST)
    status = 200 if sent.whole else 422
    return _show(request, sent.versions, sent.form, sent.heights, status)


@lead_only
@require_POST
def rules_preview(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Who would change with the values sent; stores nothing."""
    sent = Sent.read(request.POST)
    if not sent.whole:
        return _show(request, sent.versions, sent.form, sent.heights, 422)
    return _preview(request, sent, why_typed(request))


@lead_only
@require_POST
def rules_save(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Store the values sent as a new version, for the reason given."""
    sent, why = Sent.read(request.POST), WhyForm(request.POST)
    if not sent.whole:
        return _show(request, sent.versions, sent.form, sent.heights, 422)
    if not why.is_valid():
        return _preview(request, sent, why, 422)
    try:
        book = change_rules(
            values=sent.values(),
            why=why.cleaned_data["why"],
            lead=staff,
            expected=sent.expected,
            now=timezone.now(),
        )
    except RulesConflict as conflict:
        return _conflict(request, sent, str(conflict))
    except RulesRefused as refused:
        return _refused(request, sent, refused.problems)
    messages.success(request, f"Version {book.version} of the rules holds from now on.")
    return redirect("rules")


def _preview(request: HttpRequest, sent: Sent, why: WhyForm, status: int = 200) -> HttpResponse:
    try:
        rules = proposed_rules(values=sent.values(), expected=sent.expected)
    except RulesConflict as conflict:
        return _conflict(request, sent, str(conflict))
    except RulesRefused as refused:
        return _refused(request, sent, refused.problems)
    context = {"kept": kept(request.POST), "action": "rules_save"}
    return show_preview(request, sent.base, rules, why, context, status)


def show_preview(
    request: HttpRequest,
    before: Rules,
    after: Rules,
    why: WhyForm,
    more: Mapping[str, Any],
    status: int,
) -> HttpResponse:
    """Who would change from one set of rules to the other, with the form that saves it."""
    weaker = [SAID[name] for name in weaker_guards(before, after)]
    preview = preview_rules(rules=after, today=timezone.localdate())
    context = {
        **preview_context(preview, weaker),
        "differences": differences(before, after),
        "version": after.version,
        "why": why,
        **more,
    }
    return render(request, "progress/rules/preview.html", context, status=status)


def why_typed(request: HttpRequest) -> WhyForm:
    """The sentence as typed so far, not judged yet."""
    return WhyForm(initial={"why": request.POST.get("why", "")})


def kept(sent: QueryDict) -> list[tuple[str, str]]:
    """Everything typed, to be sent along again unseen."""
    return [
        (name, value) for name, values in sent.lists() if name not in NOT_KEPT for value in values
    ]


def _refused(request: HttpRequest, sent: Sent, problems: Mapping[str, str]) -> HttpResponse:
    """The form again, with what is wrong beside its field."""
    of_heights = problems.get(HEIGHTS, "")
    for name, problem in problems.items():
        if name != HEIGHTS:
            sent.form.add_error(name if name in sent.form.fields else None, problem)
    more = {"heights_problem": of_heights}
    return _show(request, sent.versions, sent.form, sent.heights, 422, more)


def _conflict(request: HttpRequest, sent: Sent, says: str) -> HttpResponse:
    """The form again: this lead's changes over what the other one saved, and what that was."""
    versions, mine = rule_versions(), sent.values()
    theirs = versions[0].rules
    shown = {item.name for item in ITEMS}
    over = {name: request.POST.get(name, "") for name in mine if name in shown}
    form = RulesForm(rules=theirs, over=over)
    heights = heights_form(theirs, Skill.objects.all(), None, mine.get(HEIGHTS))
    messages.error(request, says)
    more = {"theirs": differences(sent.base, theirs), "meanwhile": versions[0].book}
    return _show(request, versions, form, heights, 409, more)


def _show(
    request: HttpRequest,
    versions: tuple[RuleVersion, ...],
    form: RulesForm | None = None,
    heights: BaseHeights | None = None,
    status: int = 200,
    more: Mapping[str, Any] | None = None,
) -> HttpResponse:
    rules = versions[0].rules
    form = form or RulesForm(rules=rules)
    context = {
        "rules": rules,
        "form": form,
        "why": request.POST.get("why", ""),
        "heights": heights or heights_form(rules, Skill.objects.all()),
        "default_heights": height_words(DEFAULTS.height_rules),
        "own_heights": rules.height_rules != DEFAULTS.height_rules,
        "groups": [(one, list(_rows(one.items, rules, form))) for one in GROUPS],
        "band": {item.name: item.in_words(rules) for item in BAND},
        "versions": list(_version_rows(versions)),
        "wrong": status == 422 and not form.non_field_errors(),
        **(more or {}),
    }
    return render(request, "progress/rules/page.html", context, status=status)


def _rows(items: Iterable[Item], rules: Rules, form: RulesForm) -> Iterable[dict[str, Any]]:
    for item in items:
        own = getattr(rules, item.name) != getattr(DEFAULTS, item.name)
        default = item.in_words(DEFAULTS)
        yield {"item": item, "field": form[item.name], "default": default, "own": own}


def _version_rows(versions: tuple[RuleVersion, ...]) -> Iterable[dict[str, Any]]:
    """Each version with what it has otherwise than the one before it."""
    for place, one in enumerate(versions):
        before = versions[place + 1].rules if place + 1 < len(versions) else one.rules
        same = not differences(versions[0].rules, one.rules)
        yield {"version": one, "changed": differences(before, one.rules), "back": not same}
