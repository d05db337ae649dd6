"""Paired devices."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.create_table(
        "devices",
        sa.Column("id", sa.String(), primary_key=True),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("secret_sha256", sa.String(), nullable=False),
        sa.Column("paired_at", sa.String(), nullable=False),
        sa.Column("revoked_at", sa.String()),
        sa.UniqueConstraint("secret_sha256", name="uq_devices_secret_sha256"),
    )
