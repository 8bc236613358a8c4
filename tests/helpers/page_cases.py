"""The page without its flying process, and a client that has been let in."""

from __future__ import annotations

from starlette.testclient import TestClient

from missionsim.page.guard import Guard
from missionsim.page.job import State
from missionsim.page.routes import application

TOKEN, PORT = "a-token-nobody-guesses", 4711
HOST = f"http://127.0.0.1:{PORT}"


class NoJob:
    """Stands in for the flying process: keeps what it was asked."""

    def __init__(self):
        self.asked, self.state = [], State()

    def prepare(self, study_file, revision):
        self.asked.append(("prepare", revision))

    def fly(self, study_file, years, revision):
        self.asked.append(("fly", years))

    def share(self, kind, study_file, years, revision):
        self.asked.append(("share", kind, years))

    def cancel(self):
        self.asked.append(("cancel",))

    def ask(self, order):
        self.asked.append((order.what,))

    def at_once(self, given):
        return {"faults": ["nothing has been flown yet"]}


def let_in(page):
    made = TestClient(Guard(application(page), TOKEN, PORT), base_url=HOST, headers={"Origin": HOST})
    made.get(f"/?key={TOKEN}")
    return made
