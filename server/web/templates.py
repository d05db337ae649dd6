"""The Jinja environment and `render`, the one way a page leaves the server."""

import json
from collections.abc import Mapping
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.templating import Jinja2Templates

from server.paths import STATIC, TEMPLATES
from server.web.assets import asset
from server.web.lengths import diagonal, field_text, mark_error, stacked

# No style element, no evaluated attribute, no script from a reply, nothing from elsewhere, no
# copy of a page in the browser's storage. 409 and 422 carry a page that says what to mend.
HTMX_CONFIG = json.dumps(
    {
        "includeIndicatorStyles": False,
        "allowEval": False,
        "allowScriptTags": False,
        "selfRequestsOnly": True,
        "historyCacheSize": 0,
        "attributesToSettle": ["class", "width", "height"],
        "refreshOnHistoryMiss": True,
        "responseHandling": [
            {"code": "204", "swap": False},
            {"code": "[23]..", "swap": True},
            {"code": "409", "swap": True, "error": False},
            {"code": "422", "swap": True, "error": False},
            {"code": "[45]..", "swap": False, "error": True},
        ],
    },
    separators=(",", ":"),
)
# Modules of the frame itself, on every page. Each place adds its own in the block `scripts`.
_FRAME_SCRIPTS = ("page.js", "shop.js")


def _environment() -> Environment:
    env = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.globals.update(
        asset=asset,
        htmx_config=HTMX_CONFIG,
        frame_scripts=[name for name in _FRAME_SCRIPTS if (STATIC / "js" / name).is_file()],
    )
    env.filters.update(
        stacked=stacked, diagonal=diagonal, mark_error=mark_error, field_text=field_text
    )
    return env


_pages = Jinja2Templates(env=_environment())


def render(
    request: Request,
    name: str,
    context: Mapping[str, Any],
    status: int = 200,
    headers: Mapping[str, str] | None = None,
) -> HTMLResponse:
    """A template as a reply. `context` of a whole page carries `frame`; partials need none."""
    return _pages.TemplateResponse(
        request, name, dict(context), status_code=status, headers=headers
    )


def fragment(name: str, **context: Any) -> Markup:
    """A template that needs no request, to be put into another one."""
    return Markup(_pages.env.get_template(name).render(**context))


def is_exchange(request: Request) -> bool:
    """Whether htmx asks, and so wants a partial and not the whole page."""
    return request.headers.get("HX-Request") == "true" and not request.headers.get("HX-Boosted")
