"""The content security policy of a page: what a browser may run and load there, and nothing else.

It is the second wall behind the escaping of texts. So no inline script is listed at all: a page has
none, but for the one by which the host reloads what is being written.
"""

from __future__ import annotations

import base64
import hashlib
import re
from html import escape

PLACEHOLDER = 'content="policy-of-this-page"'
"""Stands in the head of a template where the policy of the page will be."""

# The only inline styles that our pages have are the places and sizes of parts of drawings.
_GEOMETRY = re.compile(
    r"^(?:(?:(?:max-)?(?:width|height)|top|left):-?\d+(?:\.\d+)?(?:%|em|px|mm)?;?\s*)+$"
)
_STYLE = re.compile(r'\sstyle="([^"]*)"')


def make_policy(html: str) -> str:
    """Make the policy of a page.

    Args:
        html: The finished page.

    Returns:
        The value of a `Content-Security-Policy`. Scripts, styles and pictures come from the site
        itself (`file:` where it is opened from a folder), inline ones must be listed by their hash.
    """
    styles = sorted({_hash(text) for text in _STYLE.findall(html) if _GEOMETRY.match(text)})
    directives = {
        "default-src": ["'none'"],
        "script-src": ["'self'", "file:"],
        "style-src": ["'self'", "file:"],
        "style-src-attr": ["'unsafe-hashes'", *styles] if styles else ["'none'"],
        "img-src": ["'self'", "file:", "data:"],
        "font-src": ["'self'", "file:"],
        "connect-src": ["'self'", "file:"],
        "form-action": ["'none'"],
        "base-uri": ["'none'"],
    }
    return "; ".join(f"{name} {' '.join(values)}" for name, values in directives.items())


def put_policy(html: str) -> str:
    """Put the policy of a page where its template left room for it."""
    policy = escape(make_policy(html), quote=False)
    return html.replace(PLACEHOLDER, f'content="{policy}"', 1)


def add_script(html: str, script: str) -> str:
    """List one more inline script in the policy that stands in a page."""
    return html.replace("script-src ", f"script-src {_hash(script)} ", 1)


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"
