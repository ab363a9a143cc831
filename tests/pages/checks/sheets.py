"""Reading a check sheet's page and filling its form in, as a browser without JavaScript would."""

import re
from collections.abc import Mapping

from django.test import Client

from progress.models import Athlete, Skill

SHEET = "/classes/monday/checks/"


def open_page(client: Client, query: str = "", path: str = SHEET) -> str:
    """The page, which must be there."""
    response = client.get(path + query)
    assert response.status_code == 200
    return response.content.decode()


def uids(page: str) -> dict[str, str]:
    """The hidden numbers of a page by their field: one of a sheet, or one a typed cell."""
    return dict(re.findall(r'name="(number|uid-\d+-\d+)" value="([0-9a-f]+)"', page))


def cell(athlete: Athlete, skill: Skill) -> str:
    """The name of a cell's radios."""
    return f"result-{athlete.pk}-{skill.pk}"


def filled(page: str, marks: Mapping[str, str]) -> dict[str, str]:
    """What is sent: every number of the page and these marks."""
    return {**uids(page), **marks}


def marked(page: str, name: str) -> str:
    """Which radio of a cell is marked, or what its list says."""
    found = re.findall(rf'name="{name}" value="(\w*)" checked', page)
    for options in re.findall(rf'<select name="{name}"[^>]*>(.*?)</select>', page):
        found += re.findall(r'value="(\w*)" selected', options)
    assert len(found) == 1
    return str(found[0])


def row_of(page: str, athlete: Athlete) -> str:
    """One athlete's line."""
    return page.partition(f'<tr role="row" data-athlete="{athlete.code}">')[2].partition("</tr>")[0]


def cells_of(page: str, athlete: Athlete, skill: Skill) -> str:
    """What one athlete's line says of one skill, before today and today."""
    number = tabs(page).index(skill.code)
    cells = rf'<td [^>]*data-k="{number}"[^>]*>(.*?)</td>'
    return " ".join(re.findall(cells, row_of(page, athlete), re.DOTALL))


def tabs(page: str) -> list[str]:
    """The codes of the skills on the sheet, in order."""
    return re.findall(r'data-tab="([^"]+)"', page)
