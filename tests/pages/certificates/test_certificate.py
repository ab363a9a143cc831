"""The certificate: the name the family chose, the tier, the day, who signed, for any name."""

import re

import pytest
from django.contrib.auth.models import AnonymousUser
from django.template.loader import render_to_string
from django.test import Client, RequestFactory
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from progress.models import Athlete, SignOff, StaffMember
from progress.pages.certificates.views import SMALLEST, motif, size_of
from tests import makers


@pytest.fixture
def sign_off(ada: Athlete, lead: StaffMember) -> SignOff:
    return makers.make_sign_off(ada, lead)


@pytest.mark.parametrize(
    ("role", "name"),
    [
        ("coach", "certificate"),
        ("lead", "certificate"),
        ("guardian", "child_certificate"),
        ("linked", "child_certificate"),
    ],
)
def test_it_says_who_what_when_and_by_whom(
    role: str, name: str, ada: Athlete, sign_off: SignOff, request: pytest.FixtureRequest
) -> None:
    Athlete.objects.filter(pk=ada.pk).update(shown_as="Lightning")
    client: Client = request.getfixturevalue(f"{role}_client")
    response = client.get(reverse(name, args=["ada", sign_off.pk]))
    page = response.content.decode()
    for words in ("<bdi>Lightning</bdi>", "Tier 2", "2 March 2026", "<bdi>Lee</bdi>"):
        assert words in page
    assert ">Ada<" not in page
    assert "Steady on every ladder" not in page
    assert "no-store" in response["Cache-Control"]


def test_a_sign_off_of_another_child_is_not_found_under_this_one(
    coach_client: Client, sign_off: SignOff, bo: Athlete
) -> None:
    for name in ("certificate", "child_certificate"):
        assert coach_client.get(reverse(name, args=["bo", sign_off.pk])).status_code == 404


@pytest.mark.parametrize(
    ("role", "name"),
    [("coach", "certificate"), ("lead", "certificate"), ("guardian", "child_certificate")],
)
def test_a_sign_off_that_was_undone_has_no_certificate(
    role: str,
    name: str,
    sign_off: SignOff,
    lead: StaffMember,
    request: pytest.FixtureRequest,
) -> None:
    client: Client = request.getfixturevalue(f"{role}_client")
    address = reverse(name, args=["ada", sign_off.pk])
    assert client.get(address).status_code == 200

    SignOff.objects.update(undone_at=sign_off.decided_at, undone_by=lead)

    assert client.get(address).status_code == 404


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("A", "name-short"),
        ("🦊" * 7, "name-short"),
        ("e\u0301" * 14, "name-short"),
        ("王" * 8, "name-middle"),
        ("x" * 28, "name-middle"),
        ("x" * 70, "name-long"),
        ("x" * 200, SMALLEST),
    ],
)
def test_long_names_are_set_smaller(name: str, size: str) -> None:
    assert size_of(name) == size


@given(st.text(max_size=200), st.text(max_size=50))
def test_a_longer_name_is_never_set_larger(name: str, more: str) -> None:
    order = ["name-short", "name-middle", "name-long", SMALLEST]
    assert order.index(size_of(name)) <= order.index(size_of(name + more))


ODD = st.sampled_from("🦊👨\u200d👩עאمé\u0301\u202e&<>\"'")
NAMES = st.text(st.characters(exclude_categories=("Cs", "Cc")) | ODD, min_size=1, max_size=200)


@given(NAMES)
def test_any_name_stands_on_it_whole_apart_from_the_text_and_runs_nothing(name: str) -> None:
    sign_off = SignOff(to_tier=makers.models.Tier(number=2, name="Two"), decided_at=makers.moment())
    sign_off.decided_by = StaffMember(name="Lee")
    context = {"name": name, "size": size_of(name), "sign_off": sign_off, "motif": motif(2)}
    page = render_to_string("progress/certificates/page.html", {**context, **bare()})
    [shown] = re.findall(r'class="certificate-name [a-z-]+"><bdi>(.*?)</bdi>', page, re.DOTALL)
    assert unescaped(shown) == name
    assert "<" not in shown


def bare() -> dict[str, object]:
    """What the base page needs, for nobody in particular."""
    request = RequestFactory().get("/")
    request.resolver_match = None  # type: ignore[assignment]
    request.user = AnonymousUser()
    return {"request": request}


def unescaped(text: str) -> str:
    for entity, letter in (
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", '"'),
        ("&#x27;", "'"),
        ("&amp;", "&"),
    ):
        text = text.replace(entity, letter)
    return text


def test_the_motif_fills_as_many_rungs_as_tiers_were_climbed_and_no_more_than_there_are() -> None:
    for tier, full in ((1, 1), (2, 2), (7, 7), (30, 7)):
        rungs = motif(tier).rungs
        assert [climbed for _, climbed in rungs].count(True) == full
        assert all(0 <= height <= 426 for height, _ in rungs)


def test_the_family_page_leads_to_the_certificate_of_the_last_move_up(
    guardian_client: Client, ada: Athlete, lead: StaffMember
) -> None:
    page = guardian_client.get(reverse("family_page")).content.decode()
    assert "Certificate" not in page
    up = makers.make_sign_off(ada, lead)
    makers.make_sign_off(ada, lead, from_tier=makers.make_tier(2), to_tier=makers.make_tier(1))
    page = guardian_client.get(reverse("family_page")).content.decode()
    assert reverse("child_certificate", args=["ada", up.pk]) in page
