"""Serves the page on this machine alone, prints its address and opens it."""

from __future__ import annotations

import secrets
import signal
import socket
import webbrowser
from pathlib import Path
from types import FrameType

import click
import uvicorn

from missionsim.base.errors import MissionsimError
from missionsim.page.guard import KEY, Guard
from missionsim.page.routes import Page, application

ADDRESS = "127.0.0.1"
LAST_WORDS_S = 1
"""How long open connections may take to end when the page is stopped. [s]"""


class PortTakenError(MissionsimError):
    """Another program listens on the port that was asked for."""


class _Server(uvicorn.Server):
    """A server that keeps in mind that it was interrupted instead of raising the signal again."""

    interrupted = False

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Stop; the command says how it ended."""
        self.interrupted = sig == signal.SIGINT
        super().handle_exit(sig, frame)
        self._captured_signals.clear()


def serve(study: Path | None, port: int = 0, browser: bool = True) -> int:
    """Serve the page until it is stopped.

    Parameters
    ----------
    study : path or None   Study file or folder; None is a new study in this folder.
    port : int             0 takes a free one.
    browser : bool         Whether to open the page.

    Returns
    -------
    int                    Exit code: 130 after an interrupt.

    Raises
    ------
    MissionsimError        A study that cannot be read, or a port that is taken.
    """
    page = Page.opened(study)
    listening = _bound(port)
    number, token = listening.getsockname()[1], secrets.token_urlsafe(24)
    address = f"http://{ADDRESS}:{number}/?{KEY}={token}"
    app = Guard(application(page), token, number)
    server = _Server(uvicorn.Config(app, log_level="error", access_log=False, lifespan="off",
                                    timeout_graceful_shutdown=LAST_WORDS_S, server_header=False))
    click.echo(address)
    click.echo("Open this address in a browser on this machine; Ctrl-C here ends it. Every change is kept in "
               f"{page.folder.resolve()}.", err=True)
    page.job.start()
    page.lay_out()
    if browser:
        webbrowser.open(address)
    try:
        server.run(sockets=[listening])
    finally:
        page.job.close()
    return 130 if server.interrupted else 0


def _bound(port: int) -> socket.socket:
    """Return a socket that listens; bound here, so that no other program can take the port in between."""
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((ADDRESS, port))
        made.listen(128)     # whoever opens the address at once waits instead of being refused
    except OSError as error:
        made.close()
        msg = f"port {port} cannot be used ({error.strerror}); accepted: another one, or none for a free one"
        raise PortTakenError(msg) from None
    return made
