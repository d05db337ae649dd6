"""Where templates, static files and migrations lie: in a checkout or inside an installed wheel."""

from pathlib import Path

_HERE = Path(__file__).resolve().parent
_ASSETS = _HERE / "_assets" if (_HERE / "_assets").is_dir() else _HERE.parent

TEMPLATES = _ASSETS / "templates"
STATIC = _ASSETS / "static"
MIGRATIONS = _ASSETS / "migrations"
