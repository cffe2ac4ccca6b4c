"""The first tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make them."""
    op.create_table(
        "accounts",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("folded", sa.Text(), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("password", sa.Text(), nullable=True),
        sa.Column("made_s", sa.Float(precision=53), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_accounts")),
        sa.UniqueConstraint("folded", name=op.f("uq_accounts_folded")),
    )
    op.create_table(
        "audit",
        sa.Column(
            "n", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), autoincrement=True, nullable=False
        ),
        sa.Column("at_s", sa.Float(precision=53), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("act", sa.String(length=32), nullable=False),
        sa.Column("thing", sa.String(length=16), nullable=False),
        sa.Column("thing_id", sa.String(length=64), nullable=False),
        sa.Column("detail", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("n", name=op.f("pk_audit")),
    )
    op.create_index(op.f("ix_audit_thing_id"), "audit", ["thing_id"], unique=False)
    op.create_table(
        "blobs",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("media", sa.Text(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_blobs")),
    )
    op.create_table(
        "deleted",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("thing", sa.String(length=16), nullable=False),
        sa.Column("at_s", sa.Float(precision=53), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_deleted")),
    )
    op.create_table(
        "facts",
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_facts")),
    )
    op.create_table(
        "instruments",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("serial", sa.Text(), server_default="", nullable=False),
        sa.Column("reads", sa.JSON(), nullable=False),
        sa.Column("calibrated_on", sa.String(length=10), nullable=True),
        sa.Column("due_on", sa.String(length=10), nullable=True),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.Column("note", sa.Text(), server_default="", nullable=False),
        sa.Column("changed_s", sa.Float(precision=53), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_instruments")),
    )
    op.create_table(
        "keys",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("sum", sa.String(length=64), nullable=False),
        sa.Column("made_s", sa.Float(precision=53), nullable=False),
        sa.Column("ended_s", sa.Float(precision=53), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_keys")),
        sa.UniqueConstraint("sum", name=op.f("uq_keys_sum")),
    )
    op.create_table(
        "sites",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("address", sa.Text(), server_default="", nullable=False),
        sa.Column("contact", sa.Text(), server_default="", nullable=False),
        sa.Column("note", sa.Text(), server_default="", nullable=False),
        sa.Column("altitude", sa.Text(), nullable=True),
        sa.Column("zone", sa.Text(), nullable=True),
        sa.Column("changed_s", sa.Float(precision=53), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sites")),
    )
    op.create_table(
        "sessions",
        sa.Column("sum", sa.String(length=64), nullable=False),
        sa.Column("account_id", sa.String(length=36), nullable=False),
        sa.Column("csrf", sa.String(length=64), nullable=False),
        sa.Column("made_s", sa.Float(precision=53), nullable=False),
        sa.Column("seen_s", sa.Float(precision=53), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["accounts.id"], name=op.f("fk_sessions_account_id")),
        sa.PrimaryKeyConstraint("sum", name=op.f("pk_sessions")),
    )
    op.create_index(op.f("ix_sessions_account_id"), "sessions", ["account_id"], unique=False)
    op.create_table(
        "units",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.String(length=36), nullable=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("serial", sa.Text(), server_default="", nullable=False),
        sa.Column("practice", sa.Boolean(), nullable=False),
        sa.Column("note", sa.Text(), server_default="", nullable=False),
        sa.Column("plate", sa.JSON(), nullable=False),
        sa.Column("changed_s", sa.Float(precision=53), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_units_site_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_units")),
    )
    op.create_index(op.f("ix_units_site_id"), "units", ["site_id"], unique=False)
    op.create_table(
        "visits",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("unit_id", sa.String(length=36), nullable=False),
        sa.Column("planned_on", sa.String(length=10), nullable=True),
        sa.Column("started_s", sa.Float(precision=53), nullable=True),
        sa.Column("technician", sa.Text(), server_default="", nullable=False),
        sa.Column("purpose", sa.Text(), server_default="", nullable=False),
        sa.Column("note", sa.Text(), server_default="", nullable=False),
        sa.Column("instruments", sa.JSON(), nullable=False),
        sa.Column("outdoor", sa.Text(), nullable=True),
        sa.Column("humidity", sa.Text(), nullable=True),
        sa.Column("indoor", sa.Text(), nullable=True),
        sa.Column("marks_complete", sa.Boolean(), nullable=False),
        sa.Column("state", sa.String(length=8), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("late", sa.Integer(), nullable=False),
        sa.Column("changed_s", sa.Float(precision=53), nullable=False),
        sa.ForeignKeyConstraint(["unit_id"], ["units.id"], name=op.f("fk_visits_unit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_visits")),
    )
    op.create_index(op.f("ix_visits_unit_id"), "visits", ["unit_id"], unique=False)
    op.create_table(
        "attachments",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("visit_id", sa.String(length=36), nullable=True),
        sa.Column("unit_id", sa.String(length=36), nullable=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("received_s", sa.Float(precision=53), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["sha256"], ["blobs.sha256"], name=op.f("fk_attachments_sha256")),
        sa.ForeignKeyConstraint(["unit_id"], ["units.id"], name=op.f("fk_attachments_unit_id")),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name=op.f("fk_attachments_visit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_attachments")),
    )
    op.create_index(op.f("ix_attachments_sha256"), "attachments", ["sha256"], unique=False)
    op.create_index(op.f("ix_attachments_unit_id"), "attachments", ["unit_id"], unique=False)
    op.create_index(op.f("ix_attachments_visit_id"), "attachments", ["visit_id"], unique=False)
    op.create_table(
        "batches",
        sa.Column("visit_id", sa.String(length=36), nullable=False),
        sa.Column("n", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("client", sa.String(length=64), nullable=False),
        sa.Column("sequence", sa.BigInteger(), nullable=False),
        sa.Column("sum", sa.String(length=64), nullable=False),
        sa.Column("received_s", sa.Float(precision=53), nullable=False),
        sa.Column("late", sa.Boolean(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name=op.f("fk_batches_visit_id")),
        sa.PrimaryKeyConstraint("visit_id", "n", name=op.f("pk_batches")),
        sa.UniqueConstraint(
            "visit_id", "client", "sequence", name=op.f("uq_batches_visit_id_client_sequence")
        ),
    )
    op.create_table(
        "clashes",
        sa.Column("visit_id", sa.String(length=36), nullable=False),
        sa.Column("client", sa.String(length=64), nullable=False),
        sa.Column("sequence", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("sum", sa.String(length=64), nullable=False),
        sa.Column("received_s", sa.Float(precision=53), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name=op.f("fk_clashes_visit_id")),
        sa.PrimaryKeyConstraint("visit_id", "client", "sequence", "sum", name=op.f("pk_clashes")),
    )
    op.create_table(
        "files",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("visit_id", sa.String(length=36), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("received_s", sa.Float(precision=53), nullable=False),
        sa.Column("aside", sa.Boolean(), nullable=False),
        sa.Column("columns", sa.Text(), nullable=True),
        sa.Column("problem", sa.Text(), nullable=True),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["sha256"], ["blobs.sha256"], name=op.f("fk_files_sha256")),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name=op.f("fk_files_visit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_files")),
    )
    op.create_index(op.f("ix_files_sha256"), "files", ["sha256"], unique=False)
    op.create_index(op.f("ix_files_visit_id"), "files", ["visit_id"], unique=False)
    op.create_table(
        "reports",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("visit_id", sa.String(length=36), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=True),
        sa.Column("format", sa.String(length=8), nullable=False),
        sa.Column("system", sa.String(length=2), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.Column("made_s", sa.Float(precision=53), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["sha256"], ["blobs.sha256"], name=op.f("fk_reports_sha256")),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name=op.f("fk_reports_visit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reports")),
    )
    op.create_index(op.f("ix_reports_sha256"), "reports", ["sha256"], unique=False)
    op.create_index(op.f("ix_reports_visit_id"), "reports", ["visit_id"], unique=False)
    op.create_table(
        "revisions",
        sa.Column("visit_id", sa.String(length=36), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("made_s", sa.Float(precision=53), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.Column("trace_sha256", sa.String(length=64), nullable=False),
        sa.Column("result_sha256", sa.String(length=64), nullable=False),
        sa.Column("plate", sa.JSON(), nullable=False),
        sa.Column("summary", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["result_sha256"], ["blobs.sha256"], name=op.f("fk_revisions_result_sha256")),
        sa.ForeignKeyConstraint(["trace_sha256"], ["blobs.sha256"], name=op.f("fk_revisions_trace_sha256")),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name=op.f("fk_revisions_visit_id")),
        sa.PrimaryKeyConstraint("visit_id", "revision", name=op.f("pk_revisions")),
    )
    op.create_index(op.f("ix_revisions_result_sha256"), "revisions", ["result_sha256"], unique=False)
    op.create_index(op.f("ix_revisions_trace_sha256"), "revisions", ["trace_sha256"], unique=False)
    op.create_table(
        "signatures",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("visit_id", sa.String(length=36), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("attachment_id", sa.String(length=36), nullable=True),
        sa.Column("result_sha256", sa.String(length=64), nullable=False),
        sa.Column("signed_s", sa.Float(precision=53), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["attachment_id"], ["attachments.id"], name=op.f("fk_signatures_attachment_id")
        ),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name=op.f("fk_signatures_visit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_signatures")),
    )
    op.create_index(op.f("ix_signatures_attachment_id"), "signatures", ["attachment_id"], unique=False)
    op.create_index(op.f("ix_signatures_visit_id"), "signatures", ["visit_id"], unique=False)
