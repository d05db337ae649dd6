"""Kept things with their revisions, the ledger, and the program's marks."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def _never_changed(table: str) -> None:
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{table} are written once'); END"
        )


def upgrade() -> None:
    op.create_table(
        "kept",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("shelf", sa.String(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("created_at", sa.String(), nullable=False),
        sa.Column("changed_at", sa.String(), nullable=False),
        sa.Column("archived_at", sa.String()),
    )
    op.create_index("ix_kept_shelf_changed_at", "kept", ["shelf", "changed_at"])
    op.create_table(
        "revisions",
        sa.Column(
            "kept_id",
            sa.String(),
            sa.ForeignKey("kept.id", name="fk_revisions_kept_id"),
            primary_key=True,
        ),
        sa.Column("revision", sa.Integer(), primary_key=True),
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("saved_at", sa.String(), nullable=False),
        sa.Column("device", sa.String()),
    )
    op.create_table(
        "ledger",
        sa.Column("seq", sa.Integer(), primary_key=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column(
            "piece", sa.String(), sa.ForeignKey("kept.id", name="fk_ledger_piece"), nullable=False
        ),
        sa.Column("part", sa.String()),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("received_at", sa.String(), nullable=False),
        sa.Column("note", sa.String()),
        sa.Column("device", sa.String()),
        sa.Column("undoes", sa.String(), sa.ForeignKey("ledger.id", name="fk_ledger_undoes")),
        sa.Column("seen_seq", sa.Integer()),
        sa.Column("data", sa.JSON(), nullable=False),
        sa.UniqueConstraint("id", name="uq_ledger_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_ledger_piece_seq", "ledger", ["piece", "seq"])
    op.create_table(
        "marks",
        sa.Column("name", sa.String(), primary_key=True),
        sa.Column("value", sa.String(), nullable=False),
    )
    _never_changed("revisions")
    _never_changed("ledger")
