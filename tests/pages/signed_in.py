"""Somebody signed in to a gym that a real server serves, who sends forms without a browser."""

import json
from http.client import HTTPConnection
from urllib.parse import urlencode

from tests.pages.checks.conftest import Hall


class SignedIn:
    """One connection of one member of staff."""

    def __init__(self, hall: Hall, who: str) -> None:
        self.cookies = f"sessionid={hall.sessions[who]}"
        self.connection = HTTPConnection("127.0.0.1", hall.port, timeout=120)
        self.connection.request("GET", "/checks/token/", headers={"Cookie": self.cookies})
        answer = self.connection.getresponse()
        self.token = json.loads(answer.read())["token"]
        self.cookies += "; " + str(answer.headers["Set-Cookie"]).partition(";")[0]

    def send(self, path: str, values: dict[str, object]) -> tuple[int, str]:
        """Send a form; the status of the answer and where it leads to."""
        headers = {
            "Cookie": self.cookies,
            "X-CSRFToken": self.token,
            "Content-Type": "application/x-www-form-urlencoded",
        }
        self.connection.request("POST", path, urlencode(values), headers)
        answer = self.connection.getresponse()
        answer.read()
        return answer.status, str(answer.headers["Location"])
