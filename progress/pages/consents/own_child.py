"""Let a guardian in to one of their own children; nobody else, not even staff."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import Http404, HttpRequest

from progress.models import Guardian
from progress.pages.shared.access import guardian_only, own_children

View = Callable[..., Any]  # a page, or a file that is written while it is sent


def own_child(view: View) -> View:
    """Hand the view its ``guardian`` and the ``athlete`` that ``code`` names."""

    @guardian_only
    @wraps(view)
    def guarded(
        request: HttpRequest, *args: Any, code: str, guardian: Guardian, **kwargs: Any
    ) -> Any:
        for athlete in own_children(guardian):
            if athlete.code == code:
                return view(request, *args, guardian=guardian, athlete=athlete, **kwargs)
        raise Http404

    return guarded
