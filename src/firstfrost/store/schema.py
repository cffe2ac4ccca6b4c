"""The tables.

Ids are UUIDs made by whoever creates a record, times are seconds since 1970 in UTC, sums are SHA-256 in hex.
What came from a device (`batches`) or as a file (`blobs`) is kept as it came and never changed; what was made
of it (`revisions`, `reports`) names its sum. Every change of these tables is a migration in `migrations/`.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

META: Final = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)

COUNTER: Final = BigInteger().with_variant(Integer, "sqlite")
"""A counting primary key: only INTEGER counts by itself in SQLite."""


def _id() -> Column[str]:
    return Column("id", String(36), primary_key=True)


def _version() -> Column[int]:
    return Column("version", Integer, nullable=False)


def _text(name: str) -> Column[str]:
    return Column(name, Text, nullable=False, default="", server_default="")


def _to(name: str, target: str, *, optional: bool = False) -> Column[str]:
    return Column(name, String(36), ForeignKey(f"{target}.id"), nullable=optional, index=True)


def _blob(name: str = "sha256") -> Column[str]:
    return Column(name, String(64), ForeignKey("blobs.sha256"), nullable=False, index=True)


def _seconds(name: str, *, optional: bool = False) -> Column[float]:
    return Column(name, Float(53), nullable=optional)


facts = Table(
    "facts", META, Column("key", String(64), primary_key=True), Column("value", Text, nullable=False)
)
"""What is known of the store itself, such as its own id."""

accounts = Table(
    "accounts",
    META,
    _id(),
    _version(),
    Column("name", Text, nullable=False),
    Column("folded", Text, nullable=False, unique=True),
    Column("role", String(16), nullable=False),
    Column("active", Boolean, nullable=False),
    Column("password", Text, nullable=True),
    _seconds("made_s"),
)

sessions = Table(
    "sessions",
    META,
    Column("sum", String(64), primary_key=True),
    _to("account_id", "accounts"),
    Column("csrf", String(64), nullable=False),
    _seconds("made_s"),
    _seconds("seen_s"),
)

keys = Table(
    "keys",
    META,
    _id(),
    Column("name", Text, nullable=False),
    Column("sum", String(64), nullable=False, unique=True),
    _seconds("made_s"),
    _seconds("ended_s", optional=True),
)
"""Keys of recorders, which send readings and do nothing else."""

sites = Table(
    "sites",
    META,
    _id(),
    _version(),
    Column("name", Text, nullable=False),
    _text("address"),
    _text("contact"),
    _text("note"),
    Column("altitude", Text, nullable=True),
    Column("zone", Text, nullable=True),
    _seconds("changed_s"),
)

units = Table(
    "units",
    META,
    _id(),
    _version(),
    _to("site_id", "sites", optional=True),
    Column("name", Text, nullable=False),
    _text("serial"),
    Column("practice", Boolean, nullable=False),
    _text("note"),
    Column("plate", JSON, nullable=False),
    _seconds("changed_s"),
)

instruments = Table(
    "instruments",
    META,
    _id(),
    _version(),
    Column("name", Text, nullable=False),
    _text("serial"),
    Column("reads", JSON, nullable=False),
    Column("calibrated_on", String(10), nullable=True),
    Column("due_on", String(10), nullable=True),
    Column("retired", Boolean, nullable=False),
    _text("note"),
    _seconds("changed_s"),
)

visits = Table(
    "visits",
    META,
    _id(),
    _version(),
    _to("unit_id", "units"),
    Column("planned_on", String(10), nullable=True),
    _seconds("started_s", optional=True),
    _text("technician"),
    _text("purpose"),
    _text("note"),
    Column("instruments", JSON, nullable=False),
    Column("outdoor", Text, nullable=True),
    Column("humidity", Text, nullable=True),
    Column("indoor", Text, nullable=True),
    Column("marks_complete", Boolean, nullable=False),
    Column("state", String(8), nullable=False),
    Column("revision", Integer, nullable=False),
    Column("n", Integer, nullable=False),
    Column("late", Integer, nullable=False),
    _seconds("changed_s"),
)
"""`n` counts the batches, `late` those of them that came after the last closing."""

blobs = Table(
    "blobs",
    META,
    Column("sha256", String(64), primary_key=True),
    Column("media", Text, nullable=False),
    Column("size", Integer, nullable=False),
    Column("content", LargeBinary, nullable=False),
)

batches = Table(
    "batches",
    META,
    Column("visit_id", String(36), ForeignKey("visits.id"), primary_key=True),
    Column("n", Integer, primary_key=True, autoincrement=False),
    Column("client", String(64), nullable=False),
    Column("sequence", BigInteger, nullable=False),
    Column("sum", String(64), nullable=False),
    _seconds("received_s"),
    Column("late", Boolean, nullable=False),
    Column("who", Text, nullable=False),
    Column("body", LargeBinary, nullable=False),
    UniqueConstraint("visit_id", "client", "sequence"),
)

clashes = Table(
    "clashes",
    META,
    Column("visit_id", String(36), ForeignKey("visits.id"), primary_key=True),
    Column("client", String(64), primary_key=True),
    Column("sequence", BigInteger, primary_key=True, autoincrement=False),
    Column("sum", String(64), primary_key=True),
    _seconds("received_s"),
    Column("who", Text, nullable=False),
    Column("body", LargeBinary, nullable=False),
)
"""Batches that came under a client and sequence that were taken, with other content."""

files = Table(
    "files",
    META,
    _id(),
    _to("visit_id", "visits"),
    Column("name", Text, nullable=False),
    _blob(),
    _seconds("received_s"),
    Column("aside", Boolean, nullable=False),
    Column("columns", Text, nullable=True),
    Column("problem", Text, nullable=True),
    Column("who", Text, nullable=False),
)

attachments = Table(
    "attachments",
    META,
    _id(),
    _to("visit_id", "visits", optional=True),
    _to("unit_id", "units", optional=True),
    Column("name", Text, nullable=False),
    _blob(),
    _seconds("received_s"),
    Column("who", Text, nullable=False),
)

revisions = Table(
    "revisions",
    META,
    Column("visit_id", String(36), ForeignKey("visits.id"), primary_key=True),
    Column("revision", Integer, primary_key=True, autoincrement=False),
    _seconds("made_s"),
    Column("who", Text, nullable=False),
    Column("n", Integer, nullable=False),
    Column("digest", String(64), nullable=False),
    Column("made_by", Text, nullable=False),
    _blob("trace_sha256"),
    _blob("result_sha256"),
    Column("plate", JSON, nullable=False),
    Column("summary", JSON, nullable=False),
)
"""A visit as it was closed: the trace, immutable, and the result with the version that made it."""

reports = Table(
    "reports",
    META,
    _id(),
    _to("visit_id", "visits"),
    Column("revision", Integer, nullable=True),
    Column("format", String(8), nullable=False),
    Column("system", String(2), nullable=False),
    Column("made_by", Text, nullable=False),
    _seconds("made_s"),
    Column("who", Text, nullable=False),
    _blob(),
)

signatures = Table(
    "signatures",
    META,
    _id(),
    _to("visit_id", "visits"),
    Column("revision", Integer, nullable=False),
    Column("name", Text, nullable=False),
    Column("role", String(16), nullable=False),
    _to("attachment_id", "attachments", optional=True),
    Column("result_sha256", String(64), nullable=False),
    _seconds("signed_s"),
    Column("who", Text, nullable=False),
)

audit = Table(
    "audit",
    META,
    Column("n", COUNTER, primary_key=True, autoincrement=True),
    _seconds("at_s"),
    Column("who", Text, nullable=False),
    Column("act", String(32), nullable=False),
    Column("thing", String(16), nullable=False),
    Column("thing_id", String(64), nullable=False),
    Column("detail", JSON, nullable=False),
    Index(None, "thing_id"),
)

deleted = Table(
    "deleted",
    META,
    _id(),
    Column("thing", String(16), nullable=False),
    _seconds("at_s"),
)
"""What was deleted on request: ids alone, so that a device learns that it may forget."""

RECORDS: Final = (
    facts,
    accounts,
    sessions,
    keys,
    sites,
    units,
    instruments,
    visits,
    blobs,
    batches,
    clashes,
    files,
    attachments,
    revisions,
    reports,
    signatures,
    audit,
    deleted,
)
"""All tables, each after those that it points to."""
