"""`ringwright plan FILE`: the plan of a piece file as JSON, without server or database."""

import json
import sys
from pathlib import Path

from server.craft.errors import CraftError


def print_plan(file: Path) -> int:
    """Print the plan; returns the exit status, 1 when the file cannot be used."""
    from server.craft.document import parse_piece
    from server.craft.plan import plan, plan_json

    try:
        text = sys.stdin.read() if str(file) == "-" else file.read_text(encoding="utf-8")
        document = json.loads(text)
        if not isinstance(document, dict):
            raise ValueError("a piece is a JSON object")
        print(json.dumps(plan_json(plan(parse_piece(document))), allow_nan=False))
    except (OSError, UnicodeDecodeError) as error:
        return _say(f"{file} cannot be read: {error}")
    except CraftError as error:
        return _say(f"{file}: {error}")
    except (ValueError, RecursionError) as error:
        return _say(f"{file} is not a piece file: {error}")
    return 0


def _say(message: str) -> int:
    print(f"ringwright: {message}", file=sys.stderr)
    return 1
