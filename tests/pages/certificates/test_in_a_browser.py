"""The certificate and the family's and the lead's pages in a real browser, and on paper."""

import re
from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.urls import reverse
from playwright.sync_api import BrowserContext, Page
from pytest_django.live_server_helper import LiveServer

from progress.models import Athlete, Consent, ErasureRequest, Guardian, StaffMember
from tests import makers

pytestmark = pytest.mark.django_db(transaction=True)

OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
CUT_OFF = """() => ['.certificate-name', '.certificate-text', '.certificate'].filter(name => {
  const one = document.querySelector(name);
  return one.scrollHeight > one.clientHeight + 1 || one.scrollWidth > one.clientWidth + 1;
})"""
NAMES = [
    "A",
    "Ada",
    "Maximiliane-Theodora Fictional-Inventedsdottir van den Madeupberg",
    "x" * 200,
    "王" * 200,
    "👨‍👩‍👧 Ñandú 🦊" * 12,
    "عبد الرحمن بن محمد",
    "Z̸͎̈́a̶͚͋l̴̰̈́g̵͓̈́o̶" * 6,
    "W" * 200,
]
PAGES = [
    ("guardian", "child_choices", ["ada"]),
    ("guardian", "child_erase", ["ada"]),
    ("guardian", "child_certificate", ["ada", 1]),
    ("lead", "certificate", ["ada", 1]),
    ("lead", "erasures", []),
    ("lead", "erasure_page", [1]),
]


@pytest.fixture
def sign_in(
    request: pytest.FixtureRequest, context: BrowserContext, live_server: LiveServer
) -> Callable[[str], None]:
    """Sign the browser in as one of the cast."""

    def as_role(role: str) -> None:
        client: Client = request.getfixturevalue(f"{role}_client")
        key = client.session.session_key
        context.add_cookies([{"name": "sessionid", "value": str(key), "url": live_server.url}])

    return as_role


@pytest.fixture
def moved_up(ada: Athlete, guardian: Guardian, lead: StaffMember) -> Athlete:
    """Ada with a sign-off, an old and a standing consent, and an open request."""
    makers.make_sign_off(ada, lead, pk=1)
    Consent.objects.create(guardian=guardian, athlete=ada, kind="mail")
    Consent.objects.create(guardian=guardian, athlete=ada, kind="photo", text_version=0)
    ErasureRequest.objects.create(pk=1, athlete=ada, asked_by=guardian)
    return ada


@pytest.mark.parametrize(("role", "name", "args"), PAGES)
@pytest.mark.usefixtures("moved_up")
def test_a_page_is_sound_in_light_and_dark_on_small_and_large_screens(
    role: str,
    name: str,
    args: list[object],
    page: Page,
    live_server: LiveServer,
    sign_in: Callable[[str], None],
) -> None:
    sign_in(role)
    heard: list[str] = []
    page.on("console", lambda one: heard.append(one.text) if one.type == "error" else None)
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        for width, height in ((320, 640), (390, 844), (1280, 800)):
            page.set_viewport_size({"width": width, "height": height})
            page.goto(live_server.url + reverse(name, args=args))
            page.evaluate("document.querySelectorAll('details').forEach(f => { f.open = true })")
            assert page.evaluate(OVERFLOW) <= 0, f"{width} px wide, {scheme}"
        found = Axe().run(page).response["violations"]
        assert [(one["id"], one["nodes"][0]["html"]) for one in found] == [], scheme
    assert heard == []


@pytest.mark.parametrize("name", NAMES, ids=range(len(NAMES)))
def test_any_name_fits_one_sheet_of_either_paper(
    name: str,
    moved_up: Athlete,
    page: Page,
    live_server: LiveServer,
    sign_in: Callable[[str], None],
) -> None:
    Athlete.objects.filter(pk=moved_up.pk).update(shown_as=name[:200])
    sign_in("coach")
    page.goto(live_server.url + reverse("certificate", args=["ada", 1]))
    assert page.evaluate(CUT_OFF) == []
    for size in ({"format": "A4", "landscape": True}, {"format": "A5", "landscape": True}):
        paper = page.pdf(**size)  # type: ignore[arg-type]
        assert len(re.findall(rb"/Type\s*/Page\b(?!s)", paper)) == 1, size
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", page.pdf(prefer_css_page_size=True))) == 1
