"""The content security policy of a page: what a browser may run and load there, and nothing else.

It is the second wall behind the escaping of texts. So what it lists comes from what we and the
host's theme write ourselves, never from a finished page, in which a mistake could already stand.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterable
from html import escape

PLACEHOLDER = 'content="policy-of-this-page"'
"""Stands in the head of a template where the policy of the page will be."""

# The only inline styles that our pages have are the places and sizes of parts of drawings.
_GEOMETRY = re.compile(
    r"^(?:(?:(?:max-)?(?:width|height)|top|left):-?\d+(?:\.\d+)?(?:%|em|px|mm)?;?\s*)+$"
)
_STYLE = re.compile(r'\sstyle="([^"]*)"')
_SCRIPT = re.compile(r"<script>(.*?)</script>", re.DOTALL)
_EXPRESSION = re.compile(r"\\\{\\\{.*?\\\}\\\}")


def find_scripts(templates: Iterable[str]) -> tuple[re.Pattern[str], ...]:
    """Give what matches the inline scripts of a theme's templates; expressions are addresses."""
    texts = sorted({found for text in templates for found in _SCRIPT.findall(text)})
    return tuple(re.compile(_EXPRESSION.sub(r"[\\w./:~-]*", re.escape(text))) for text in texts)


def make_policy(html: str, scripts: Iterable[re.Pattern[str]]) -> str:
    """Make the policy of a page.

    Args:
        html: The finished page.
        scripts: What matches the inline scripts that may run; `find_scripts` gives it.

    Returns:
        The value of a `Content-Security-Policy`. Scripts, styles and pictures come from the site
        itself (`file:` where it is opened from a folder), inline ones must be listed by their hash.
    """
    ours = {text for text in _SCRIPT.findall(html) if any(each.fullmatch(text) for each in scripts)}
    listed = sorted(map(_hash, ours))
    styles = sorted({_hash(text) for text in _STYLE.findall(html) if _GEOMETRY.match(text)})
    directives = {
        "default-src": ["'none'"],
        "script-src": ["'self'", "file:", *listed],
        "style-src": ["'self'", "file:"],
        "style-src-attr": ["'unsafe-hashes'", *styles] if styles else ["'none'"],
        "img-src": ["'self'", "file:", "data:"],
        "font-src": ["'self'", "file:"],
        "connect-src": ["'self'", "file:"],
        "worker-src": ["'self'", "file:"],
        "frame-src": ["'self'"],
        "form-action": ["'none'"],
        "base-uri": ["'none'"],
    }
    return "; ".join(f"{name} {' '.join(values)}" for name, values in directives.items())


def put_policy(html: str, scripts: Iterable[re.Pattern[str]]) -> str:
    """Put the policy of a page where its template left room for it."""
    policy = escape(make_policy(html, scripts), quote=False)
    return html.replace(PLACEHOLDER, f'content="{policy}"', 1)


def add_script(html: str, script: str) -> str:
    """List one more inline script in the policy that stands in a page."""
    return html.replace("script-src ", f"script-src {_hash(script)} ", 1)


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"
