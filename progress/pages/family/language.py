"""A family chooses the language of its pages, on this phone and for mail."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from progress.models import Guardian
from progress.pages.shared.access import visitor_of

A_YEAR = 365 * 24 * 60 * 60


@require_POST
def family_language(request: HttpRequest) -> HttpResponse:
    """Keep the chosen language on this phone, and for mail where we know who is asking."""
    chosen = request.POST.get("language", "")
    back = request.POST.get("back", "")
    safe = url_has_allowed_host_and_scheme(back, {request.get_host()}, request.is_secure())
    response = redirect(back if safe else "family_open")
    if chosen in dict(settings.LANGUAGES):
        response.set_cookie(
            settings.LANGUAGE_COOKIE_NAME,
            chosen,
            max_age=A_YEAR,
            secure=request.is_secure(),
            httponly=True,
            samesite="Lax",
        )
        guardian = visitor_of(request).guardian
        if guardian is not None:
            Guardian.objects.filter(pk=guardian.pk).update(language=chosen)
    return response
