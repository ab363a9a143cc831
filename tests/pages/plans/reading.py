"""Read the plan's pages as a person would."""

import re

from django.test import Client
from django.urls import reverse


def page_of(client: Client, code: str = "monday", query: str = "", name: str = "class_plan") -> str:
    response = client.get(reverse(name, args=[code]) + query)
    assert response.status_code == 200
    return response.content.decode()


def text_of(page: str) -> str:
    """What is read, without the marks."""
    return " ".join(re.sub(r"<[^>]+>", " ", page.partition("<main")[2].partition(">")[2]).split())


def cell_of(page: str, who: str, station: str) -> str:
    """One athlete's cell at a station, as text."""
    found = page.partition(f"{who}, {station}: ")[2]
    assert found, f"{who} has no cell at {station}"
    return text_of("<main>" + found.partition("</td>")[0])
