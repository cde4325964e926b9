"""Filling a page template: escaped, self-contained, and allowed to do nothing.

Every page carries its style inside and a content security policy that permits
that one style, by its SHA-256, and nothing else: no script, no image, no font,
no request (W3C Content Security Policy Level 3, `meta` delivery). Names and
words come from people, so Jinja's autoescape is always on.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from functools import cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from cuegen.resources import templates_dir

FAMILY_STYLE = "look.css"


def fill_page(
    template: str, style: str, *, measures: Mapping[str, str] | None = None, **facts: object
) -> str:
    """Return the HTML of a template with the family's style and one of its own.

    measures: what the style reads as `--name`, our own words ("4.20mm") and never a
    person's; the policy covers them too.
    """
    css = "\n" + _style(FAMILY_STYLE) + _style(style) + _measured(measures or {})
    return (
        _environment()
        .get_template(template)
        .render(
            css=Markup(css),  # our own file, not a person's words
            policy=_policy(css),
            **facts,
        )
    )


def _measured(measures: Mapping[str, str]) -> str:
    if not measures:
        return ""
    return ":root { " + " ".join(f"--{name}: {at};" for name, at in measures.items()) + " }\n"


def _policy(css: str) -> str:
    digest = base64.b64encode(hashlib.sha256(css.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"


@cache
def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(templates_dir()),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


@cache
def _style(name: str) -> str:
    return (templates_dir() / name).read_text(encoding="utf-8")
