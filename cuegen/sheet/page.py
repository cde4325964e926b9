"""Filling a page template: escaped, self-contained, and allowed to do nothing.

Every page carries its style inside and a content security policy that permits
that one style and its own script, by their SHA-256, and nothing else: no image, no font,
no request (W3C Content Security Policy Level 3, `meta` delivery). Names and
words come from people, so Jinja's autoescape is always on.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping, Sequence
from enum import Enum
from functools import cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from cuegen.resources import templates_dir

FAMILY_STYLE = "look.css"
DARK_STYLE = "dark.css"


class Dark(Enum):
    """When a page is dark, as the selector of what then is; on paper it is ink on white."""

    NEVER = ""
    CHOSEN = '[data-look="dark"]'  # on the page, by a button
    ASKED = "@media screen and (prefers-color-scheme: dark) { :root"  # by the reader's settings

    def rule(self, colours: str) -> str:
        """Return the style in which those colours hold."""
        if self is Dark.NEVER:
            return ""
        return f"{self.value} {{\n{colours}}}" + " }\n" * (self is Dark.ASKED)


def fill_page(
    template: str,
    *styles: str,
    dark: Dark = Dark.NEVER,
    scripts: Sequence[str] = (),
    measures: Mapping[str, str] | None = None,
    **facts: object,
) -> str:
    """Return the HTML of a template with the family's style and those of its own.

    scripts: files of templates/ that become the page's one script, if any. measures: what
    the style reads as `--name`, our own words ("4.20mm") and never a person's. The policy
    covers all of them.
    """
    css = "\n" + _own_text(FAMILY_STYLE) + dark.rule(_own_text(DARK_STYLE))
    css += "".join(map(_own_text, styles)) + _measured(measures or {})
    script = "\n" + script_of(*scripts) if scripts else ""
    return (
        _environment()
        .get_template(template)
        .render(
            css=Markup(css),  # our own files, not a person's words
            script=Markup(script),
            policy=_policy(css, script),
            **facts,
        )
    )


def script_of(*names: str) -> str:
    """Return files of templates/ as one script."""
    return "\n".join(map(_own_text, names))


def _measured(measures: Mapping[str, str]) -> str:
    if not measures:
        return ""
    return ":root { " + " ".join(f"--{name}: {at};" for name, at in measures.items()) + " }\n"


def _policy(css: str, script: str) -> str:
    scripts = f" script-src {_digest(script)};" if script else ""
    return (
        f"default-src 'none'; style-src {_digest(css)};{scripts} "
        "base-uri 'none'; form-action 'none'"
    )


def _digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


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
def _own_text(name: str) -> str:
    return (templates_dir() / name).read_text(encoding="utf-8")
