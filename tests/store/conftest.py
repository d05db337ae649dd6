"""Databases as earlier programs left them."""

import shutil
from pathlib import Path

import pytest

RELEASED = sorted((Path(__file__).parents[1] / "data" / "databases").glob("schema-*.db"))


@pytest.fixture(params=RELEASED, ids=lambda path: path.stem)
def released(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A copy of a database of each earlier schema, at the place of the real one."""
    path = tmp_path / "data" / "ringwright.db"
    path.parent.mkdir()
    shutil.copyfile(request.param, path)
    return path
