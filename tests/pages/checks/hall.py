"""A gym served by a process of its own, so that a test can take it away and bring it back.

    python -m tests.pages.checks.hall fill          makes the records; prints who is signed in
    python -m tests.pages.checks.hall serve PORT

Twelve children in a class called Monday, whose sheet of today has six skills, and one child in a
class called Tuesday; twenty coaches, a lead and somebody at the desk.
"""

import json
import os
import sys

import django

os.environ["DJANGO_SETTINGS_MODULE"] = "tests.pages.checks.hall_settings"
django.setup()

from django.core.management import call_command  # noqa: E402
from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler  # noqa: E402
from django.core.wsgi import get_wsgi_application  # noqa: E402
from django.test import Client  # noqa: E402
from django.utils import timezone  # noqa: E402

from progress.models import Role, SheetSkill, Skill, StaffMember  # noqa: E402
from tests import makers  # noqa: E402

CHILDREN, SKILLS, MORE_COACHES = 12, 6, 18


def fill() -> None:
    """Make the records."""
    call_command("migrate", verbosity=0)
    for code in ("kim", "sam", *(f"coach-{n:02}" for n in range(MORE_COACHES))):
        makers.make_staff(code)
    makers.make_staff("lee", role=Role.LEAD)
    makers.make_staff("dee", role=Role.DESK)
    for number in range(SKILLS):
        ladder = "landing" if number % 2 else "hanging"
        makers.make_skill(f"SKILL-{number}", ladder=ladder, name=f"Skill number {number}")
    children = [makers.make_athlete(f"A{n:02}", name=f"Child {n:02}") for n in range(CHILDREN)]
    monday = makers.make_class("monday", athletes=children)
    tonight = makers.make_meeting(monday, timezone.localdate(), present=children)
    for skill in Skill.objects.all():
        SheetSkill.objects.create(meeting=tonight, skill=skill, shown=True)
    makers.make_class("tuesday", athletes=[makers.make_athlete("B00", name="Child B")])


def sign_everybody_in() -> dict[str, str]:
    """The session key of each member of staff by code."""
    keys = {}
    for person in StaffMember.objects.select_related("user"):
        client = Client()
        assert person.user is not None
        client.force_login(person.user)
        keys[person.code] = str(client.session.session_key)
    return keys


class Quiet(WSGIRequestHandler):
    """Says nothing of each request."""

    def log_message(self, format: str, *args: object) -> None:
        pass


def serve(port: int) -> None:
    """Answer until killed."""
    server = ThreadedWSGIServer(("127.0.0.1", port), Quiet, connections_override={})
    server.set_app(get_wsgi_application())
    server.serve_forever(poll_interval=0.05)


if __name__ == "__main__":
    if sys.argv[1] == "fill":
        fill()
        print(json.dumps(sign_everybody_in()))
    else:
        serve(int(sys.argv[2]))
