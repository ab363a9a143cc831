"""Ways to ask for the board and to read it."""

import re
from html import unescape

from django.test import Client
from django.urls import reverse


def page_of(client: Client, query: str = "") -> str:
    """The board's HTML; ``query`` begins with a question mark."""
    response = client.get(reverse("move_up_list") + query)
    assert response.status_code == 200
    return response.content.decode()


def names(page: str) -> list[str]:
    """The athletes on the page, in order."""
    return re.findall(r'class="name" href="[^"]+">([^<]+)<', page)


def row_of(page: str, name: str) -> str:
    """One athlete's row."""
    return next(row for row in page.split('<tr role="row">') if f">{name}</a>" in row)


def links(page: str) -> dict[str, tuple[str, int]]:
    """The links by decision: word to address and number."""
    part = page.partition('aria-label="Show only"')[2].partition("</nav>")[0]
    found: dict[str, tuple[str, int]] = {}
    for href, inside in re.findall(r'<a href="([^"]*)"[^>]*>(.*?)</a>', part):
        *words, number = re.sub(r"<[^>]+>", " ", inside).split()
        found[" ".join(words)] = (unescape(href), int(number))
    return found


def link_to(page: str, text: str) -> str:
    """The address behind the first link with this text, arrows of sorting aside."""
    found = re.findall(rf'<a [^>]*href="([^"]*)"[^>]*>{re.escape(text)}(?:<span|</a>)', page)
    return unescape(found[0])


def boxes(page: str) -> list[str]:
    """The codes of those who can be chosen."""
    return re.findall(r'<input type="checkbox" name="athlete" value="([^"]+)"', page)
