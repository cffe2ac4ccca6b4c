"""What whoever runs the service can set, each limit with its default and what it is for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, Literal
from urllib.parse import urlsplit

from firstfrost.errors import InputError, nearest

MIB: Final = 1 << 20
LOOPBACK: Final = ("localhost", "127.0.0.1", "::1")
PAGES: Final = Path(__file__).parent / "pages"


@dataclass(frozen=True, kw_only=True)
class Limit:
    """One limit: its name, default, unit and purpose."""

    name: str
    default: int
    unit: str
    help: str


LIMITS: Final = (
    Limit(name="body", default=1 * MIB, unit="bytes", help="the body of a request that is no upload"),
    Limit(name="batch", default=4 * MIB, unit="bytes", help="one batch of readings"),
    Limit(name="file", default=64 * MIB, unit="bytes", help="one log file"),
    Limit(name="weather", default=16 * MIB, unit="bytes", help="one weather file for a season"),
    Limit(name="attachment", default=16 * MIB, unit="bytes", help="one picture or paper"),
    Limit(
        name="import",
        default=4096 * MIB,
        unit="bytes",
        help="an export that is taken in, packed and unpacked",
    ),
    Limit(name="viewers", default=500, unit="at once", help="live views of all visits together"),
    Limit(name="backlog", default=2000, unit="events", help="events that a slow live view may lag behind"),
    Limit(
        name="tries",
        default=5,
        unit="per quarter hour",
        help="failed sign-ins of one name; of one address four times",
    ),
    Limit(name="idle", default=12 * 3600, unit="s", help="a session ends when it is not used for so long"),
    Limit(name="session", default=30 * 86_400, unit="s", help="a session ends so long after the sign-in"),
    Limit(name="list", default=5000, unit="entries", help="one answer with a list"),
)


@dataclass(frozen=True, kw_only=True)
class Settings:
    """How a service runs."""

    mode: Literal["alone", "shop"] = "alone"
    host: str = "127.0.0.1"
    port: int = 8137
    public_url: str | None = None
    """What people type; needed for a shop, where a proxy stands before the service."""
    proxies: tuple[str, ...] = ("127.0.0.1", "::1")
    """Whose word on the caller's address is taken."""
    pages: Path = PAGES
    workers: int = 1
    """Processes for reports and plans; 0 does them in threads."""
    mqtt: str | None = None
    limits: Mapping[str, int] = field(default_factory=dict)

    def limit(self, name: str) -> int:
        """The limit of a name."""
        return self.limits.get(name) or next(row.default for row in LIMITS if row.name == name)

    @property
    def origin(self) -> str | None:
        """The origin of `public_url`, as a browser states it."""
        if self.public_url is None:
            return None
        parts = urlsplit(self.public_url)
        return f"{parts.scheme}://{parts.netloc}".lower()


def check(settings: Settings, store: str) -> None:
    """Refuse settings that would open the service to whom it is not meant for.

    Raises
    ------
    InputError
        With what was met and what to do.
    """
    if settings.mode == "alone":
        if settings.host not in LOOPBACK:
            raise InputError(
                f"--host is {settings.host}, and without accounts the service answers this machine only. "
                "Expected 127.0.0.1, ::1 or localhost. For others in the shop: --shop, behind a proxy "
                "that speaks HTTPS."
            )
        return
    parts = urlsplit(settings.public_url or "")
    if parts.scheme != "https" or not parts.hostname:
        local = parts.scheme == "http" and parts.hostname in LOOPBACK
        if not local:
            raise InputError(
                f"--public-url is {settings.public_url!r}. Expected what people type, beginning with "
                "https://, such as https://visits.example: passwords and sessions go over HTTPS only. "
                "docs/shop.md shows how."
            )
    password = urlsplit(store).password if "://" in store else None
    if password is not None and password.casefold() in _DEFAULT_PASSWORDS:
        raise InputError(
            "The password of the database is one of those that everybody knows. Expected one of its own. Set "
            "another in PostgreSQL and in the store's URL."
        )


_DEFAULT_PASSWORDS: Final = frozenset(
    {
        "",
        "postgres",
        "password",
        "admin",
        "root",
        "secret",
        "changeme",
        "example",
        "firstfrost",
        "test",
        "1234",
    }
)


def parse_limits(words: list[str]) -> dict[str, int]:
    """Limits from `name=value` words.

    Raises
    ------
    InputError
        If a name is not known or a value is no whole number above 0.
    """
    names = {row.name for row in LIMITS}
    out = {}
    for word in words:
        name, sign, value = word.partition("=")
        if name not in names:
            raise InputError(f"--limit {word}: {name!r} is not a limit. {nearest(name, sorted(names))}")
        if not sign or not value.isdecimal() or int(value) < 1:
            raise InputError(
                f"--limit {word}: expected a whole number above 0, such as {name}=1000. Give one."
            )
        out[name] = int(value)
    return out
