"""Everything that is not ours and goes to a browser is exactly what was checked in."""

import hashlib

from server.paths import STATIC

LISTED = dict(
    reversed(line.split(maxsplit=1))
    for line in (STATIC / "vendor" / "CHECKSUMS").read_text().splitlines()
)


def test_every_vendored_file_has_its_listed_content() -> None:
    found = {
        str(path.relative_to(STATIC)): hashlib.sha256(path.read_bytes()).hexdigest()
        for folder in ("vendor", "fonts")
        for path in (STATIC / folder).rglob("*")
        if path.is_file() and path.name != "CHECKSUMS"
    }
    assert found == LISTED


def test_htmx_is_of_the_mature_line() -> None:
    assert 'version:"2.0.11"' in (STATIC / "vendor" / "htmx.min.js").read_text()
