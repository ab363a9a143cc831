"""What guardians are asked, word by word, each text with its version.

Whoever changes what a text asks for raises its version by one: an old version's yes then no longer
counts and every family is asked again. Mending a spelling mistake needs no new version.
"""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from progress.models import ConsentKind


@dataclass(frozen=True)
class ConsentText:
    """One question as families read it, in their language."""

    kind: ConsentKind
    version: int
    title: str | Promise
    text: str | Promise


TEXTS = (
    ConsentText(
        ConsentKind.MAIL,
        1,
        _("Progress by e-mail"),
        _(
            "We may send you a short e-mail each month or each term. It says what your child can"
            " do, what they work on, and what comes next."
        ),
    ),
    ConsentText(
        ConsentKind.PHOTO,
        1,
        _("Photos and films for the gym’s own use"),
        _(
            "Our staff may take photos and short films of your child in class. Only the gym uses"
            " them. They do not go on the internet."
        ),
    ),
    ConsentText(
        ConsentKind.NAME,
        1,
        _("The name on paper in the hall"),
        _(
            "The name you chose for your child may stand on paper that hangs in the hall, such as"
            " a list of who is in a class."
        ),
    ),
)


def text_for(kind: str) -> ConsentText | None:
    """The text in force for one kind, None for a kind nobody asks about."""
    return next((one for one in TEXTS if one.kind == kind), None)
