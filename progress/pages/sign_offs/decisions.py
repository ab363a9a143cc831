"""Recent decisions, taking one back, and going back a tier later."""

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from progress.engine.terms import SkillState
from progress.models import Athlete, SignOff, StaffMember, Tier
from progress.pages.shared.access import athlete_or_404, lead_only
from progress.pages.sign_offs.sayings import moment_in_words
from progress.usecases.sign_offs.move_back import move_back, tiers_below
from progress.usecases.sign_offs.refused import LONGEST, MovedMeanwhile, SignOffRefused
from progress.usecases.sign_offs.see_sign_offs import Decided, see_sign_offs
from progress.usecases.sign_offs.settle import settle
from progress.usecases.sign_offs.undo import Undone, undo


class BackForm(forms.Form):
    """Which earlier tier, and why."""

    from_tier = forms.IntegerField(widget=forms.HiddenInput)
    to_tier = forms.ModelChoiceField(
        label="Back to", queryset=Tier.objects.none(), to_field_name="number", empty_label=None
    )
    sentence = forms.CharField(
        label="Why? One sentence",
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Kept with the decision. The family can read it in their download.",
        error_messages={"required": "Say in a sentence why, for whoever reads it next year."},
    )

    def __init__(self, *args: object, below: list[Tier], **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        field = self.fields["to_tier"]
        assert isinstance(field, forms.ModelChoiceField)
        # Any tier is read, and only the earlier ones are offered: a second tap names one that was
        # earlier when the page was opened, and is to be told so.
        field.queryset = Tier.objects.all()
        field.widget.choices = [(tier.number, str(tier)) for tier in below]
        field.initial = below[0].number if below else None


@never_cache
@lead_only
@require_safe
def sign_offs(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Decisions, the newest first, page by page."""
    now = timezone.now()
    page, found = see_sign_offs(now=now, page=request.GET.get("page"))
    context = {
        "page": page,
        "pages": page.paginator.get_elided_page_range(page.number, on_each_side=2, on_ends=1),
        "rows": [_row(one) for one in found],
    }
    return render(request, "progress/sign_offs/list.html", context)


def _row(one: Decided) -> dict[str, object]:
    until = one.undo_until
    known = set(SkillState)
    return {
        "one": one,
        "row": one.sign_off,
        "until": moment_in_words(until, timezone.now()) if until else "",
        "gates": [(name, state) for name, state in one.said.gates if state in known],
    }


@never_cache
@lead_only
@require_POST
def undo_sign_off(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Take a decision of the last day back."""
    sign_off = get_object_or_404(SignOff, pk=number)
    try:
        undone = undo(sign_off=sign_off, lead=staff, now=timezone.now())
    except SignOffRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _undone(undone))
    return redirect("sign_offs")


def _undone(undone: Undone) -> str:
    row = undone.sign_off
    lines = [f"Undone: {row.athlete} is in {row.from_tier} again."]
    for place in undone.places:
        name = place.enrolment.gym_class
        if place.given_back:
            lines.append(f"The place in {name} is given back.")
        else:
            lines.append(f"The place in {name} has begun and stays: end it in the admin.")
    return " ".join(lines)


@never_cache
@lead_only
def go_back(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """A new decision: back to an earlier tier."""
    athlete = athlete_or_404(request, code)
    below = tiers_below(athlete)
    initial = {"from_tier": athlete.tier_id}
    form = BackForm(request.POST or None, below=below, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            row = move_back(athlete=athlete, lead=staff, now=timezone.now(), **form.cleaned_data)
        except SignOffRefused as refused:
            for name, problem in refused.problems.items():
                form.add_error(name or None, problem)
        except MovedMeanwhile as meanwhile:
            messages.warning(request, str(meanwhile))
            return redirect("sign_offs")
        else:
            messages.success(request, f"{row.athlete} is in {row.to_tier} again.")
            return redirect("sign_offs")
    context = {"athlete": athlete, "form": form, "below": below}
    status = 422 if form.errors else 200
    return render(request, "progress/sign_offs/back.html", context, status=status)


@never_cache
@lead_only
@require_POST
def settle_sign_off(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Note that a family stays in their class, or waits again."""
    sign_off = get_object_or_404(SignOff.objects.select_related("athlete"), pk=number)
    stays = request.POST.get("stays") == "yes"
    try:
        settle(sign_off=sign_off, stays=stays, lead=staff)
    except SignOffRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, _settled(sign_off.athlete, stays))
    return redirect("places" if stays else "sign_offs")


def _settled(athlete: Athlete, stays: bool) -> str:
    if stays:
        return f"{athlete} stays in the present class. Change that under Sign-offs."
    return f"A place is looked for again: {athlete} is on the waiting list under Places."
