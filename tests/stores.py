"""Stores to test with: SQLite, and PostgreSQL for real where there is one.

PostgreSQL is taken from `FIRSTFROST_TEST_POSTGRES` (a URL whose user may create databases), else a server is
started from the programs found here, in a folder of its own, and ended again. It does not run as root: then
it is started as `postgres` or `nobody`, whichever this machine has. No account is made. Without any of it
the tests on PostgreSQL are skipped and say why.
"""

import os
import shutil
import socket
import subprocess
import tempfile
import time
import uuid
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import pytest

ENV = "FIRSTFROST_TEST_POSTGRES"


def programs():
    """The folder of initdb and postgres; None where there is none."""
    on_path = shutil.which("initdb")
    folders = [Path(on_path).resolve().parent] if on_path else []
    folders += sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    folders += sorted(Path("/opt/homebrew/opt").glob("postgresql*/bin"), reverse=True)
    return next((f for f in folders if (f / "initdb").exists() and (f / "postgres").exists()), None)


def someone():
    """An account that is there and is not root, where this is root; PostgreSQL refuses root."""
    if os.name != "posix" or os.geteuid() != 0:
        return None
    import pwd

    for name in ("postgres", "nobody"):
        with suppress(KeyError):
            return pwd.getpwnam(name)
    return None


@dataclass
class Server:
    """A PostgreSQL server: started here, or pointed to."""

    admin: str
    process: subprocess.Popen | None = None
    folder: Path | None = None
    command: list[str] = field(default_factory=list)
    user: object = None

    def execute(self, statement):
        import psycopg

        with psycopg.connect(self.admin, autocommit=True) as connection:
            connection.execute(statement)

    def database(self, template=None):
        """The URL of a new database."""
        name = f"t_{uuid.uuid4().hex}"
        self.execute(f"CREATE DATABASE {name}" + (f" TEMPLATE {template}" if template else ""))
        return self.url(name)

    def drop(self, url):
        self.execute(f"DROP DATABASE IF EXISTS {url.rpartition('/')[2].partition('?')[0]} WITH (FORCE)")

    def url(self, name):
        head, _, tail = self.admin.rpartition("/")
        _, question, rest = tail.partition("?")
        return f"{head}/{name}{question}{rest}"

    def start(self):
        log = open(self.folder / "log", "ab")  # noqa: SIM115 the server holds it
        ids = {} if self.user is None else {"user": self.user.pw_uid, "group": self.user.pw_gid}
        if ids:
            ids["extra_groups"] = []
        self.process = subprocess.Popen(self.command, stdout=log, stderr=log, cwd=self.folder, **ids)
        log.close()
        self.wait()

    def wait(self):
        import psycopg

        until = time.monotonic() + 30.0
        while True:
            try:
                psycopg.connect(self.admin, connect_timeout=2).close()
                return
            except psycopg.OperationalError:
                if time.monotonic() > until or (self.process and self.process.poll() is not None):
                    raise
                time.sleep(0.05)

    def kill(self):
        """End it at once, as a power cut does."""
        for pid in self.children():
            with suppress(ProcessLookupError):
                os.kill(pid, 9)
        self.process.kill()
        self.process.wait()
        time.sleep(0.1)

    def children(self):
        done = subprocess.run(
            ["ps", "-o", "pid=", "--ppid", str(self.process.pid)], capture_output=True, text=True, check=False
        )
        return [int(word) for word in done.stdout.split()]

    def end(self):
        if self.process is not None:
            self.process.terminate()
            try:
                self.process.wait(10)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()
        if self.folder is not None:
            shutil.rmtree(self.folder, ignore_errors=True)


def start_server(*, fsync=False):
    """A server of one's own; without `fsync` it survives being killed itself, and not the machine's end.

    Raises LookupError with why there can be none.
    """
    try:
        import psycopg  # noqa: F401
    except ImportError as err:
        raise LookupError("psycopg is not installed") from err
    found = programs()
    if found is None:
        raise LookupError(f"no PostgreSQL was found on this machine, and {ENV} is not set")
    user = someone()
    if user is None and os.name == "posix" and os.geteuid() == 0:
        raise LookupError("PostgreSQL does not run as root, and there is no account postgres or nobody")
    # A socket's path is short, and so is that of the folder.
    folder = Path(tempfile.mkdtemp(prefix="ffpg-", dir="/tmp"))
    ids = {}
    if user is not None:
        os.chown(folder, user.pw_uid, user.pw_gid)
        ids = {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}
    data = folder / "data"
    done = subprocess.run(
        [found / "initdb", "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-locale"],
        capture_output=True, text=True, check=False, cwd=folder, **ids,
    )  # fmt: skip
    if done.returncode:
        shutil.rmtree(folder, ignore_errors=True)
        raise LookupError(f"initdb failed: {done.stderr.strip()[-300:]}")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = Server(
        admin=f"postgresql://postgres@127.0.0.1:{port}/postgres",
        folder=folder,
        user=user,
        command=[
            str(found / "postgres"), "-D", str(data), "-p", str(port), "-c", "listen_addresses=127.0.0.1",
            "-c", f"unix_socket_directories={folder}", "-c", "max_connections=120",
            "-c", f"fsync={'on' if fsync else 'off'}",
        ],
    )  # fmt: skip
    try:
        server.start()
    except Exception as err:
        server.end()
        raise LookupError(f"PostgreSQL did not start: {err}") from err
    return server


@pytest.fixture(scope="session")
def postgres():
    """A PostgreSQL server, or a skip that says why not."""
    if url := os.environ.get(ENV):
        yield Server(admin=url)
        return
    try:
        server = start_server()
    except LookupError as why:
        pytest.skip(f"PostgreSQL: {why}")
    yield server
    server.end()


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request, tmp_path):
    """Where a new store lies; each test that takes it runs on both databases."""
    if request.param == "sqlite":
        yield str(tmp_path / "shop.db")
        return
    server = request.getfixturevalue("postgres")
    url = server.database()
    yield url
    server.drop(url)


class Clock:
    """A clock that stands, and is moved by hand."""

    def __init__(self, now_s=1_795_600_000.0):
        self.now_s = now_s

    def __call__(self):
        return self.now_s


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def store(where, clock):
    from firstfrost.store.store import Store

    with Store(where, clock=clock) as opened:
        yield opened
