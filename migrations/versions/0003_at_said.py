"""When something happened, as the device wrote it."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    op.add_column("ledger", sa.Column("at_said", sa.String()))
