"""The language of family pages: what the family chose, else what the phone asks for.

Staff pages stay in the site's own language; so it is set for a family's page alone, not for
every request.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import translation

from progress.pages.shared.access import visitor_of

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
