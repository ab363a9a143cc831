"""A server that is struck down in the middle of a sending, at a moment a test chooses."""

import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.db import connection
from django.http import HttpRequest, HttpResponse

Answer = Callable[[HttpRequest], HttpResponse]


def dies_when_told(get_response: Answer) -> Answer:
    """Middleware that ends the process, once, at the moment named by a file in its folder.

    ``before-commit`` is in the middle of the transaction that stores; ``before-answer`` is when
    everything is stored and the phone has not heard of it.
    While there is a file ``hang``, no page is answered for a minute.
    """

    def answer(request: HttpRequest) -> HttpResponse:
        if _flag("hang").exists():
            time.sleep(60)
        if not request.path.endswith("/checks/send/"):
            return get_response(request)
        with connection.execute_wrapper(_after_the_attempts):
            response = get_response(request)
        if response.status_code == 200 and _told("before-answer"):
            os._exit(9)
        return response

    return answer


def _after_the_attempts(execute: Any, sql: str, *args: Any) -> Any:
    done = execute(sql, *args)
    if sql.startswith('INSERT INTO "progress_attempt"') and _told("before-commit"):
        os._exit(9)
    return done


def _flag(moment: str) -> Path:
    return Path(os.environ["HALL_FOLDER"]) / moment


def _told(moment: str) -> bool:
    flag = _flag(moment)
    if not flag.exists():
        return False
    flag.unlink()
    return True
