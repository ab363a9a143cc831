"""The first page after signing in: each visitor goes to the page they come for."""

from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from progress.models import Role
from progress.pages.shared.access import visitor_of


def home(request: HttpRequest) -> HttpResponse:
    """Send staff and guardians on; tell anybody else whom to ask."""
    visitor = visitor_of(request)
    if not request.user.is_authenticated and visitor.guardian is None:
        return redirect_to_login(request.get_full_path())
    if visitor.role == Role.LEAD:
        return redirect("move_up_list")
    if visitor.staff is not None:
        return redirect("class_list")
    if visitor.guardian is not None:
        return redirect("family_page")
    return render(request, "progress/no_role.html")
