"""Go back to an earlier version of the rules, by way of who would change."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from progress.models import StaffMember
from progress.pages.rules.views import show_preview
from progress.pages.shared.access import lead_only
from progress.pages.shared.rule_forms import WhyForm
from progress.usecases.change_rules import (
    RulesConflict,
    RulesRefused,
    RuleVersion,
    earlier_values,
    go_back_to,
    proposed_rules,
    rule_versions,
)


@lead_only
def rules_back(request: HttpRequest, *, staff: StaffMember, number: int) -> HttpResponse:
    """Who would change with an earlier version; store it as the newest when that is sent."""
    versions = rule_versions()
    if all(one.version != number for one in versions):
        raise Http404
    if request.method != "POST":
        return _preview_back(request, number, versions, WhyForm())
    why = WhyForm(request.POST)
    if not why.is_valid():
        return _preview_back(request, number, versions, why, 422)
    try:
        book = go_back_to(
            version=number,
            why=why.cleaned_data["why"],
            lead=staff,
            expected=_number(request.POST.get("expected", "")),
            now=timezone.now(),
        )
    except RulesConflict as conflict:
        messages.error(request, str(conflict))
        return _preview_back(request, number, rule_versions(), why, 409)
    except RulesRefused as refused:
        messages.error(request, str(refused))
        return redirect("rules")
    messages.success(
        request, f"Version {book.version} holds from now on. It is version {number} again."
    )
    return redirect("rules")


def _number(written: str) -> int:
    """A version's number; 0, which no version has, for anything else."""
    return int(written) if written.isascii() and written.isdigit() and len(written) < 9 else 0


def _preview_back(
    request: HttpRequest,
    number: int,
    versions: tuple[RuleVersion, ...],
    why: WhyForm,
    status: int = 200,
) -> HttpResponse:
    now = versions[0].rules
    try:
        rules = proposed_rules(values=earlier_values(number), expected=now.version)
    except RulesRefused as refused:
        messages.error(request, f"Version {number} is the same as the rules in force. {refused}")
        return redirect("rules")
    context = {"kept": [("expected", now.version)], "back_to": number}
    return show_preview(request, now, rules, why, context, status)
