"""What holds for every page: the security header, nothing inline, one heading, a skip link."""

import re

import pytest
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.test import Client, RequestFactory
from django.urls import reverse

from progress.models import Athlete
from tests import makers

INLINE = re.compile(
    r"<style\b|<[a-z][^>]*\s(?:style|on[a-z]+)\s*=|javascript:"
    r"|<script\b(?![^>]*\b(?:src=|type=\"application/json\"))",
    re.IGNORECASE,
)
ELSEWHERE = re.compile(r"(?:src|href|action)=\"(?:https?:)?//", re.IGNORECASE)

PAGES = [
    ("anonymous", "account_login", None),
    ("anonymous", "account_reset_password", None),
    ("anonymous", "account_signup", None),
    ("anonymous", "account_inactive", None),
    ("coach", "account_logout", None),
    ("coach", "account_change_password", None),
    ("coach", "mfa_index", None),
    ("coach", "account_reauthenticate", None),
    ("coach", "class_list", None),
    ("coach", "class_page", "monday"),
    ("coach", "class_page", "nobody-in-it"),
    ("coach", "class_plan", "monday"),
    ("coach", "class_plan", "nobody-in-it"),
    ("coach", "plan_print", "monday"),
    ("coach", "plan_print", "nobody-in-it"),
    ("lead", "class_plan", "monday"),
    ("desk", "class_plan", "monday"),
    ("desk", "plan_print", "monday"),
    ("coach", "check_sheet", "monday"),
    ("coach", "check_sheet", "nobody-in-it"),
    ("coach", "sheet_summary", "monday"),
    ("coach", "sheet_print", "monday"),
    ("coach", "sheet_typing", "monday"),
    ("coach", "athlete_notes", "cy"),
    ("coach", "athlete_hold", "cy"),
    ("coach", "athlete_page", "ada"),
    ("coach", "athlete_page", "cy"),
    ("coach", "child_page", "ada"),
    ("coach", "athlete_page", "no-such-child"),
    ("lead", "move_up_list", None),
    ("lead", "evidence", "ada"),
    ("lead", "evidence", "cy"),
    ("lead", "time_to_tier", None),
    ("lead", "coaches", None),
    ("lead", "difficulty", None),
    ("lead", "retier", None),
    ("lead", "attention", None),
    ("lead", "report_card", None),
    ("lead", "sign_off", None),
    ("lead", "sign_offs", None),
    ("lead", "move_back", "ada"),
    ("lead", "places", None),
    ("lead", "rules", None),
    ("lead", "rules_skills", None),
    ("coach", "floor_coverage", "1"),
    ("coach", "floor_sheet", "1"),
    ("coach", "floor_limits", None),
    ("lead", "floor_limits", None),
    ("lead", "mfa_index", None),
    ("desk", "class_list", None),
    ("desk", "class_page", "monday"),
    ("desk", "families", None),
    ("linked", "family_page", None),
    ("anonymous", "family_open", None),
    ("anonymous", "family_code", None),
    ("guardian", "family_page", None),
    ("outsider", "family_page", None),
]


@pytest.fixture
def response(
    request: pytest.FixtureRequest, monday_class: object, floor: object, cy: Athlete
) -> HttpResponse:
    """One page, with some of everything on it."""
    role, name, code = request.param
    makers.make_class("nobody-in-it")
    makers.make_hold(cy)
    client: Client = request.getfixturevalue(f"{role}_client")
    return client.get(reverse(name, args=[code] if code else []))


NAMES = ["-".join(part for part in page if part) for page in PAGES]


@pytest.mark.parametrize("response", PAGES, indirect=True, ids=NAMES)
def test_a_page_keeps_the_rules_of_the_house(
    response: HttpResponse, request: pytest.FixtureRequest
) -> None:
    """One test for each page, because drawing one takes far longer than looking at it."""
    page = response.content.decode()

    check_policy(response["Content-Security-Policy"])
    check_nothing_inline_or_from_elsewhere(page)
    check_one_can_find_ones_way(page)
    check_ids_are_given_once(page)
    role = request.node.callspec.params["response"][0]
    assert ("A qualified person decides" in page) is (role in {"coach", "lead", "desk"})


def check_policy(policy: str) -> None:
    """The browser is told to run and to style nothing inline."""
    rules = dict(one.strip().split(" ", 1) for one in policy.split(";"))
    assert rules["default-src"] == "'self'"
    assert rules["script-src"] == "'self'"
    assert "unsafe" not in policy


def check_nothing_inline_or_from_elsewhere(page: str) -> None:
    assert INLINE.findall(page) == []
    assert ELSEWHERE.findall(page) == []


def check_one_can_find_ones_way(page: str) -> None:
    assert page.count("<main ") == 1
    assert 'href="#main"' in page
    assert re.search(r"<h1[ >]", page)
    assert re.search(r"<title>\s*\S", page)
    assert 'name="viewport"' in page


def check_ids_are_given_once(page: str) -> None:
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert sorted(ids) == sorted(set(ids))


@pytest.mark.django_db
@pytest.mark.parametrize("template", ["403.html", "404.html", "403_csrf.html", "500.html"])
def test_the_pages_for_trouble_are_ours(template: str) -> None:
    """Django draws the page for its own failure with no request at hand."""
    request = None if template == "500.html" else asked_by_nobody()

    page = render_to_string(template, request=request)

    check_nothing_inline_or_from_elsewhere(page)
    assert "gym.css" in page


def asked_by_nobody() -> HttpRequest:
    request = RequestFactory().get("/")
    request.user = AnonymousUser()
    return request
