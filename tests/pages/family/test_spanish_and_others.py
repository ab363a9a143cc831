"""Every language says everything, says it with the same gaps, and its compiled file is fresh."""

import re
from datetime import date
from pathlib import Path

import polib
import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import translation

from progress.models import Athlete
from progress.pages.shared import words
from progress.templatetags import family_tags
from tests.spoken import lacking, po_files

GAP = re.compile(r"%\(\w+\)[sd]")
LANGUAGES = [po.parent.parent.name for po in po_files()]


@pytest.fixture(params=po_files(), ids=LANGUAGES)
def po(request: pytest.FixtureRequest) -> Path:
    """One language's texts."""
    path: Path = request.param
    return path


def test_every_language_offered_but_english_has_its_texts() -> None:
    assert {code for code, _ in settings.LANGUAGES} - {"en"} == set(LANGUAGES)


def test_every_text_for_families_and_every_starter_name_is_translated(po: Path) -> None:
    """Mend with ``python -m tests.spoken``, which lists what is lacking and compiles."""
    assert [f"{one.text} ({one.where})" for one in lacking(po)] == []


def test_the_compiled_file_says_what_the_written_one_says(po: Path) -> None:
    def said(entries: list[polib.POEntry]) -> dict[tuple[str, str], tuple[str, ...]]:
        return {
            (e.msgctxt or "", e.msgid): (e.msgstr, *(t for _, t in sorted(e.msgstr_plural.items())))
            for e in entries
        }

    written, compiled = polib.pofile(str(po)), polib.mofile(str(po.with_suffix(".mo")))
    assert said(list(compiled)) == said(list(written))
    assert written.metadata["Plural-Forms"] == compiled.metadata["Plural-Forms"]


def test_nothing_is_guessed_or_left_over(po: Path) -> None:
    written = polib.pofile(str(po))
    assert [entry.msgid for entry in written if entry.fuzzy] == []
    assert written.obsolete_entries() == []


def test_gaps_ends_and_line_breaks_are_kept(po: Path) -> None:
    for entry in polib.pofile(str(po)):
        wanted = set(GAP.findall(entry.msgid)) | set(GAP.findall(entry.msgid_plural))
        for said in (entry.msgstr, *entry.msgstr_plural.values()):
            if not said:
                continue
            assert set(GAP.findall(said)) == wanted, entry.msgid
            assert said.count("\n") == entry.msgid.count("\n"), entry.msgid
            assert said == said.strip(), entry.msgid
            assert ("." in entry.msgid[-1:]) == ("." in said[-1:]), entry.msgid


class TestSpanish:
    def page(self, client: Client) -> str:
        client.cookies[settings.LANGUAGE_COOKIE_NAME] = "es"
        return client.get(reverse("family_page")).content.decode()

    def test_the_page_says_so_and_speaks_it(self, linked_client: Client) -> None:
        page = self.page(linked_client)
        assert '<html lang="es" dir="ltr">' in page
        for said in ("Ya le sale", "Está practicando", "Lo que sigue", "23 de febrero de 2026"):
            assert said in page

    def test_a_questioning_sentence_opens_with_its_mark(self) -> None:
        for entry in polib.pofile(str(po_files()[0])):
            for said in (entry.msgstr, *entry.msgstr_plural.values()):
                assert said.count("?") == said.count("¿"), said

    def test_a_skill_of_the_gyms_own_keeps_its_name(self, linked_client: Client) -> None:
        assert "Land still on two feet" in self.page(linked_client)

    def test_states_and_chances_are_said_in_it(self) -> None:
        with translation.override("es"):
            assert words.in_ten(0.1) == "Le sale bien más o menos 1 vez de cada 10"
            assert words.in_ten(0.7) == "Le sale bien más o menos 7 veces de cada 10"
            assert "Ya casi" in family_tags.family_state_mark("nearly")
            assert family_tags.in_our_words("Walk a line on the floor").startswith("Caminar")

    def test_days_and_months_are_written_its_way(self) -> None:
        with translation.override("es"):
            assert family_tags.family_day(date(2026, 3, 1)) == "1 de marzo de 2026"
            assert family_tags.family_month(date(2026, 3, 1)) == "marzo de 2026"
        with translation.override("en"):
            assert family_tags.family_day(date(2026, 3, 1)) == "1 March 2026"

    def test_a_name_that_means_something_is_not_translated(
        self, linked_client: Client, ada: Athlete
    ) -> None:
        Athlete.objects.filter(pk=ada.pk).update(name="Next")
        assert "<bdi>Next</bdi>" in self.page(linked_client)


class TestChoosingALanguage:
    @pytest.mark.parametrize("page", ["family_open", "family_code", "family_page"])
    def test_every_page_offers_the_others_by_their_own_names(
        self, linked_client: Client, page: str
    ) -> None:
        shown = linked_client.get(reverse(page)).content.decode()
        assert 'value="es" lang="es" dir="ltr">Español</button>' in shown
        assert f'name="back" value="{reverse(page)}"' in shown

    def test_where_the_code_is_typed_one_comes_back_to_asking(
        self, anonymous_client: Client
    ) -> None:
        shown = anonymous_client.post(
            reverse("family_code"), {"email": "a@example.org"}
        ).content.decode()
        assert f'name="back" value="{reverse("family_code")}"' in shown

    def test_a_wrong_code_comes_back_to_a_page_that_can_be_opened(
        self, anonymous_client: Client
    ) -> None:
        shown = anonymous_client.post(reverse("family_code_enter"), {"email": "a", "code": "1"})
        assert f'name="back" value="{reverse("family_open")}"' in shown.content.decode()

    def test_a_tap_turns_the_page_over(self, linked_client: Client) -> None:
        there = reverse("family_page")
        send = {"language": "es", "back": there}
        shown = linked_client.post(reverse("family_language"), send, follow=True)
        assert shown.redirect_chain == [(there, 302)]
        assert ">English</button>" in shown.content.decode()

    def test_staff_pages_stay_english(self, coach_client: Client, monday_class: object) -> None:
        coach_client.cookies[settings.LANGUAGE_COOKIE_NAME] = "es"
        page = coach_client.get(reverse("class_list")).content.decode()
        assert '<html lang="en-GB">' in page
        assert "Sign out" in page


def test_a_skill_named_like_a_word_of_the_page_is_another_text() -> None:
    with translation.override("es"):
        assert translation.gettext("today") == "hoy"
        assert family_tags.in_our_words("today") == "today"
        assert family_tags.in_our_words("") == ""
