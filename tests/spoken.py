"""What the project says to families: every text marked for translation, and the starter names.

Templates are read as Django reads them, Python as Python does; no outside tool is needed.
``python -m tests.spoken`` writes django.mo anew from every django.po and lists what a language
still lacks.
"""

import ast
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import polib

from tests.source import APP, ROOT, files_below, tree_of

LOCALE = APP / "locale"
CATALOGUE = "catalogue"  # the context of names and home ideas
SAYING = {
    **dict.fromkeys(("gettext", "gettext_lazy", "gettext_noop", "_"), ("text",)),
    **dict.fromkeys(("ngettext", "ngettext_lazy"), ("text", "plural")),
    **dict.fromkeys(("pgettext", "pgettext_lazy"), ("context", "text")),
    **dict.fromkeys(("npgettext", "npgettext_lazy"), ("context", "text", "plural")),
}


@dataclass(frozen=True, order=True)
class Saying:
    """One text to be translated; ``where`` is the file it was first met in."""

    context: str
    text: str
    plural: str
    where: str

    @property
    def key(self) -> tuple[str, str]:
        """What a catalogue files it under."""
        return self.context, self.text


def sayings() -> dict[tuple[str, str], Saying]:
    """Every text of templates, Python and the starter catalogue, each once."""
    found: dict[tuple[str, str], Saying] = {}
    for saying in (*of_templates(), *of_python(), *of_the_catalogue()):
        kept = found.setdefault(saying.key, saying)
        if saying.plural and not kept.plural:
            found[saying.key] = saying
    return found


def of_templates() -> Iterator[Saying]:
    """Texts of ``translate`` and ``blocktranslate``."""
    from django.template import engines  # settings must be there first
    from django.templatetags.i18n import BlockTranslateNode, TranslateNode

    for path in files_below(APP / "templates", ".html", ".txt"):
        where = path.relative_to(APP / "templates").as_posix()
        template = engines["django"].get_template(where).template
        for node in template.nodelist.get_nodes_by_type(TranslateNode):
            text = str(node.filter_expression.var.literal or node.filter_expression.var)
            yield Saying(_constant(node.message_context), text, "", where)
        for node in template.nodelist.get_nodes_by_type(BlockTranslateNode):
            singular = node.render_token_list(node.singular)[0]
            plural = node.render_token_list(node.plural)[0] if node.plural else ""
            yield Saying(_constant(node.message_context), singular, plural, where)


def _constant(expression: Any) -> str:
    return str(expression.var) if expression is not None else ""


def of_python() -> Iterator[Saying]:
    """Texts of the gettext calls with constant words."""
    for path in files_below(APP, ".py"):
        where = path.relative_to(ROOT).as_posix()
        for node in ast.walk(tree_of(path)):
            if not isinstance(node, ast.Call) or not isinstance(
                node.func, ast.Name | ast.Attribute
            ):
                continue
            name = node.func.id if isinstance(node.func, ast.Name) else node.func.attr
            said = [arg.value for arg in node.args if isinstance(arg, ast.Constant)]
            parts = SAYING.get(name, ())
            if not parts or len(said) < len(parts):
                continue
            words = dict(zip(parts, map(str, said), strict=False))
            yield Saying(words.get("context", ""), words["text"], words.get("plural", ""), where)


def of_the_catalogue() -> Iterator[Saying]:
    """Names of the starter tiers, ladders and skills, and its ideas for home."""
    from progress.usecases.load_catalogue import starter_catalogue

    where, source = "fixtures/starter_catalogue.json", starter_catalogue()
    for part in ("tiers", "ladders", "skills"):
        yield from (Saying(CATALOGUE, raw["name"], "", where) for raw in source[part])
    for raw in source["home_ideas"]:
        yield from (Saying(CATALOGUE, raw[part], "", where) for part in ("text", "caution"))


def po_files() -> list[Path]:
    """Every language's texts."""
    return sorted(LOCALE.glob("*/LC_MESSAGES/django.po"))


def lacking(po: Path) -> list[Saying]:
    """What this language does not say yet."""
    there = {(e.msgctxt or "", e.msgid) for e in polib.pofile(str(po)) if e.translated()}
    return [saying for key, saying in sorted(sayings().items()) if key not in there]


def main() -> None:
    """Compile every language and list what it lacks."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    for po in po_files():
        polib.pofile(str(po)).save_as_mofile(str(po.with_suffix(".mo")))
        for saying in lacking(po):
            print(
                f"{po.parent.parent.name} lacks {saying.context} {saying.text!r} ({saying.where})"
            )


if __name__ == "__main__":
    main()
