"""The language of family pages: what the family chose, else what the phone asks for.

Staff pages stay in the site's own language; so it is set for a family's page alone, not for
every request.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import translation
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from progress.models import Guardian
from progress.pages.shared.access import visitor_of

A_YEAR = 365 * 24 * 60 * 60

View = Callable[..., HttpResponse]


def in_the_familys_language(view: View) -> View:
    """Draw the page in the language of whoever looks at it."""

    @wraps(view)
    def spoken(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        language = language_of(request)
        with translation.override(language):
            response = view(request, *args, **kwargs)
        response.headers["Content-Language"] = language
        response.headers["Vary"] = "Accept-Language, Cookie"
        return response

    return spoken


def language_of(request: HttpRequest) -> str:
    """A language the pages are written in: chosen on this phone, kept for the guardian, asked."""
    known = dict(settings.LANGUAGES)
    chosen = request.COOKIES.get(settings.LANGUAGE_COOKIE_NAME, "")
    if chosen in known:
        return chosen
    guardian = visitor_of(request).guardian
    if guardian is not None and guardian.language in known:
        return guardian.language
    return translation.get_language_from_request(request)


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
