"""Running the service: the store opened, the address taken, what to open told."""

from __future__ import annotations

import logging
import socket
import sys
from collections.abc import Callable
from typing import Any, Final

import uvicorn

from firstfrost.errors import InputError
from firstfrost.store.store import Store
from firstfrost.web.app import make_app
from firstfrost.web.settings import Settings, check

LOG: Final = logging.getLogger("firstfrost.web")
GRACE_S: Final = 3
SWITCH_S: Final = 5e-4


def serve(where: str, settings: Settings, *, say: Callable[[str], None] = print) -> None:
    """Serve until interrupted.

    Parameters
    ----------
    where : str
        The store: a file name, or a URL of PostgreSQL.
    settings : Settings
        How.
    say : callable
        Told where the pages are, and the set-up code of a new shop.

    Raises
    ------
    InputError, StoreError
        If it cannot run like this.
    """
    check(settings, where)
    # Standings are worked out in a thread; who waits for the interpreter meanwhile waits less long.
    sys.setswitchinterval(SWITCH_S)
    # The store first: where another service has it, that says more than a port that is taken.
    with Store(where) as store, _listen(settings) as listener:
        app = make_app(store, settings)
        for line in greeting(store, settings, app.state.door.setup_code, listener.getsockname()[1]):
            say(line)
        config = uvicorn.Config(
            app,
            log_config=None,
            access_log=False,
            lifespan="on",
            timeout_graceful_shutdown=GRACE_S,
            proxy_headers=settings.mode == "shop",
            forwarded_allow_ips=list(settings.proxies),
            server_header=False,
            date_header=True,
            limit_concurrency=2000,
            ws="none",
        )
        uvicorn.Server(config).run([listener])


def greeting(store: Store, settings: Settings, code: str | None, port: int) -> list[str]:
    """What to tell whoever has started it."""
    host = f"[{settings.host}]" if ":" in settings.host else settings.host
    url = settings.public_url or f"http://{host}:{port}/"
    lines = [f"The pages: {url}", f"The store: {store.name}"]
    if settings.mode == "alone":
        lines.append("For this machine only, without accounts. Ctrl-C ends it; nothing is lost.")
    if code is not None:
        lines.append(f"This shop has no account yet. Open the pages and set it up with the code: {code}")
    return lines


def _listen(settings: Settings) -> socket.socket:
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((settings.host, settings.port))
    except (OSError, OverflowError) as err:
        listener.close()
        reason: Any = getattr(err, "strerror", None) or err
        raise InputError(
            f"{settings.host}:{settings.port} cannot be listened on: {reason}. Expected an address of "
            "this machine and a free port. Give another with --port."
        ) from err
    listener.listen(512)
    listener.set_inheritable(True)
    return listener
