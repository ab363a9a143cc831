"""Read a page as a browser without a script would: its words, and what its forms would send."""

import re
from html import unescape
from typing import Any

from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from progress.models import Role
from progress.usecases.change_rules import change_rules
from tests import makers


def filled(page: str, action: str) -> dict[str, Any]:
    """What the form that goes to ``action`` would send as it stands on the page."""
    form = next(one for one in page.split("<form ")[1:] if f'action="{reverse(action)}"' in one)
    form = form.split("</form>")[0]
    sent: dict[str, Any] = {}
    for tag in re.findall(r"<input[^>]*>", form):
        found = {name: unescape(value) for name, value in re.findall(r'([\w-]+)="([^"]*)"', tag)}
        if found.get("type") == "checkbox":
            if re.search(r"\bchecked\b", tag):
                sent.setdefault(found["name"], []).append(found.get("value", "on"))
        else:
            sent.setdefault(found["name"], []).append(found.get("value", ""))
    for name, text in re.findall(r'<textarea name="([\w-]+)"[^>]*>\s?(.*?)</textarea>', form, re.S):
        sent[name] = [unescape(text)]
    return sent


def body(response: HttpResponse) -> str:
    """The page as sent."""
    return response.content.decode()


def text(response: HttpResponse) -> str:
    """The words of the page."""
    words = re.sub(r"<[^>]*>", " ", body(response))
    return " ".join(unescape(words).split())


def previewed(client: Client, **changes: Any) -> HttpResponse:
    """The page of rules, filled in otherwise, and "Show who would change" pressed."""
    sent = filled(body(client.get(reverse("rules"))), "rules_preview") | changes
    return client.post(reverse("rules_preview"), sent)


def saved(client: Client, preview: HttpResponse, why: str = "Seen for a year.") -> HttpResponse:
    """ "Save" pressed on a preview as it stands."""
    sent = filled(body(preview), "rules_save") | {"why": why}
    return client.post(reverse("rules_save"), sent)


def save(client: Client, **changes: Any) -> HttpResponse:
    return saved(client, previewed(client, **changes))


def lou_saves(**values: Any) -> None:
    other = makers.make_staff("lou", role=Role.LEAD)
    change_rules(values=values, why="More eyes.", lead=other, expected=1, now=makers.moment())
