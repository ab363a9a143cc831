"""Notes on an athlete, for staff: write one, take one back."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from progress.models import Note, StaffMember
from progress.pages.athletes.forms import NoteForm
from progress.pages.athletes.returns import back_from, sheet_of
from progress.pages.shared.access import athlete_or_404, coach_or_lead
from progress.usecases.write_note import NoteRefused, take_back_note, write_note


@coach_or_lead
def athlete_notes(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Show the standing notes with a form; keep what it sends."""
    athlete = athlete_or_404(request, code)
    form = NoteForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            write_note(
                athlete=athlete,
                text=form.cleaned_data["text"],
                author=staff,
                now=timezone.now(),
                for_family=form.cleaned_data["for_family"],
            )
        except NoteRefused as refused:
            form.add_error("text", str(refused))
        else:
            messages.success(request, f"Your note on {athlete} is kept.")
            return redirect(back_from(request, athlete))
    context = {
        "athlete": athlete,
        "form": form,
        "notes": Note.objects.standing().filter(athlete=athlete).select_related("written_by"),
        "staff": staff,
        "gym_class": sheet_of(request),
        "back": back_from(request, athlete),
    }
    return render(
        request, "progress/athletes/notes.html", context, status=422 if form.errors else 200
    )


@coach_or_lead
@require_POST
def strike_note(
    request: HttpRequest, code: str, number: int, *, staff: StaffMember
) -> HttpResponse:
    """Take a note back: one's own or, for the lead, anybody's."""
    athlete = athlete_or_404(request, code)
    note = get_object_or_404(Note, pk=number, athlete=athlete)
    try:
        take_back_note(note=note, by=staff, now=timezone.now())
    except NoteRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, "The note is taken back.")
    return redirect(back_from(request, athlete))
