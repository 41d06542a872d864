"""The policy that a page carries: its own scripts and styles by their hashes, and nothing else.

The browser holds the page to it (W3C, Content Security Policy Level 3): what is not in the page as
it was written neither runs nor styles, and nothing is fetched. A text of a user that got past the
escaping would be no script, and neither would an attribute ``on...``; styles that the page's own
scripts set are allowed.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterator

#: Stands in a page's template where its policy goes, ahead of every text of a user.
PLACE = "the policy of this page"
_ELEMENT = re.compile(r"<(script|style)\b([^>]*)>")


def under_policy(page: str, images: str = "data:") -> str:
    """Return a page with its policy in its place.

    Parameters
    ----------
    page : str
        The page as rendered, ``PLACE`` in the content of its ``meta`` element.
    images : str
        Where images may come from, as the policy writes it.
    """
    found: dict[str, list[str]] = {"script": [], "style": []}
    for kind, text in inline(page):
        found[kind].append(source(text))
    rules = [
        "default-src 'none'",
        *(f"{kind}-src {' '.join(hashes)}" for kind, hashes in found.items() if hashes),
        f"img-src {images}",
        "base-uri 'none'",
        "form-action 'none'",
    ]
    return page.replace(PLACE, "; ".join(rules), 1)


def source(text: str) -> str:
    """Return a script's or a style sheet's text as a policy names it: by its SHA-256.

    Examples
    --------
    >>> source("alert('Hello, world.');")
    "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='"
    """
    digest = hashlib.sha256(text.encode("utf-8", "replace")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"


def inline(page: str) -> Iterator[tuple[str, str]]:
    """Yield kind and text of the scripts and styles in a page, in order; data are no scripts."""
    at = 0
    while (start := _ELEMENT.search(page, at)) is not None:
        end = page.index(f"</{start[1]}>", start.end())
        if "type=" not in start[2]:
            yield start[1], page[start.end() : end]
        at = end
