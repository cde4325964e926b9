"""One phrase: a template that is known to be harmless and speakable before it is used.

A phrase book comes from anyone, so its templates are a small part of Jinja2: names
of fields, our filters, `if`. What could run on for ever or reach outside (loops,
macros, includes, calls, attributes, arithmetic) is refused when the book is loaded,
by walking the syntax tree against an allow-list; the sandbox and strict undefined
names stand behind that. Each phrase of a coach's own is spoken once on sample values at
loading; for those that come with cuegen, tests do that.

Source: the Jinja2 documentation (sandbox, nodes).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from jinja2 import StrictUndefined, Template, TemplateError, nodes
from jinja2.sandbox import SandboxedEnvironment

from cuegen.errors import PhraseError, Where
from cuegen.plan.nearest import offer
from cuegen.script.fields import FIELDS, Value, filters
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.placeholders import Placeholders, placeholders
from cuegen.script.spoken import spoken_forms

MAX_SOURCE_CHARS = 600
MAX_LINE_CHARS = 300
"""Twenty seconds of talk: longer is no cue."""

_ALLOWED: tuple[type[nodes.Node], ...] = (
    nodes.Template,
    nodes.Output,
    nodes.TemplateData,
    nodes.Name,
    nodes.Filter,
    nodes.If,
    nodes.CondExpr,
    nodes.Compare,
    nodes.Operand,
    nodes.Const,
    nodes.And,
    nodes.Or,
    nodes.Not,
)
_NAMED: dict[type[nodes.Node], str] = {
    nodes.For: "a loop",
    nodes.Macro: "a macro",
    nodes.CallBlock: "a call",
    nodes.Call: "a call",
    nodes.Include: "an include",
    nodes.Import: "an import",
    nodes.FromImport: "an import",
    nodes.Extends: "an extends",
    nodes.Block: "a block",
    nodes.Assign: "a set",
    nodes.AssignBlock: "a set",
    nodes.With: "a with",
    nodes.FilterBlock: "a filter block",
    nodes.Getattr: "an attribute",
    nodes.Getitem: "an item",
    nodes.BinExpr: "arithmetic",
    nodes.UnaryExpr: "arithmetic",
    nodes.Test: "a test",
}

_SPOKEN_SIGNS = frozenset(" '\u2019-,.?!;:")
_PLAIN = re.compile(rf"(?=.*[a-zA-Z])[a-zA-Z{re.escape(''.join(sorted(_SPOKEN_SIGNS)))}]*")
"""Nearly every line: told at once."""
_SPACES = re.compile(r"\s+")
_SPACE_BEFORE = re.compile(r"\s+([,.?!;:])")
_SENTENCE = re.compile(r"(^|[.?!]\s+)([^\W\d_])")


@dataclass(frozen=True, slots=True)
class Conditional:
    """A phrase with an `if`: a checked Jinja2 template, compiled when it is first said."""

    source: str
    language: str

    def render(self, values: Mapping[str, Value]) -> str:
        return _template(self.source, self.language).render(values)


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase that may be said.

    fields: the names it mentions. form: how it is filled in.
    """

    source: str
    fields: frozenset[str]
    where: Where = field(compare=False)
    form: Placeholders | Conditional = field(compare=False, repr=False)
    language: str = field(default="en", compare=False, repr=False)

    def say(self, values: Mapping[str, Value]) -> str:
        """Return the line, empty where an `if` leaves nothing. Raises PhraseError."""
        try:
            raw = self._rendered(values)
        except (TemplateError, LookupError, TypeError, ValueError, AttributeError) as bad:
            raise PhraseError(
                f"this phrase cannot be spoken: {bad}",
                where=self.where,
                remedy=_filter_advice(self.fields),
            ) from None
        line = tidy(raw)
        self._check(line)
        return line

    def _rendered(self, values: Mapping[str, Value]) -> str:
        if isinstance(self.form, Placeholders):
            return self.form.render(values, _environment(self.language).filters)
        return self.form.render(values)

    def _check(self, line: str) -> None:
        if len(line) > MAX_LINE_CHARS:
            raise PhraseError(
                f"this phrase comes to {len(line)} letters, over the {MAX_LINE_CHARS} of a cue",
                where=self.where,
                remedy="Say one idea in it.",
            )
        signs = unspeakable(line)
        if signs:
            raise PhraseError(
                f"{signs!r} in {line!r} cannot be spoken",
                where=self.where,
                remedy="Write words. " + _filter_advice(self.fields),
            )


def compile_phrase(
    source: str, kind: CueKind, language: str, where: Where, *, tried: bool = True
) -> Phrase:
    """Return a phrase of a kind, checked. Raises PhraseError.

    tried: it is said once on sample values too.
    """
    if len(source) > MAX_SOURCE_CHARS:
        raise PhraseError(
            f"this phrase is {len(source)} characters long, over {MAX_SOURCE_CHARS}",
            where=where,
            remedy="Say one idea in it.",
        )
    simple = placeholders(source)
    phrase = (
        _templated(source, kind, language, where)
        if simple is None
        else _filled(source, simple, kind, language, where)
    )
    if tried:
        phrase.say({name: FIELDS[name].sample for name in phrase.fields})
    return phrase


def _filled(
    source: str, simple: Placeholders, kind: CueKind, language: str, where: Where
) -> Phrase:
    for place in simple.places:
        if place.filter is not None:
            _check_filter_name(place.filter, where)
    mentioned = frozenset(place.field for place in simple.places)
    _check_fields(mentioned, kind, where)
    return Phrase(source, mentioned, where, simple, language)


def _templated(source: str, kind: CueKind, language: str, where: Where) -> Phrase:
    environment = _environment(language)
    try:
        tree = environment.parse(source)
        _check_tree(tree, where)
        mentioned = frozenset(node.name for node in tree.find_all(nodes.Name))
        _check_fields(mentioned, kind, where)
    except (TemplateError, RecursionError) as bad:
        raise PhraseError(
            f"this phrase is no template: {bad}",
            where=where,
            remedy="Fields are written {{ rate | rate }}.",
        ) from None
    return Phrase(source, mentioned, where, Conditional(source, language), language)


def tidy(raw: str) -> str:
    """Return a line with single spaces and each sentence begun with a capital."""
    flat = _SPACE_BEFORE.sub(r"\1", _SPACES.sub(" ", raw).strip())
    return _SENTENCE.sub(lambda found: found[1] + found[2].upper(), flat)


def unspeakable(line: str) -> str:
    """Return the signs of a line that no voice should be given, each once, in order."""
    if _PLAIN.fullmatch(line):
        return ""
    odd = [sign for sign in line if not _is_spoken(sign)]
    if line and not odd and not any(sign.isalpha() for sign in line):
        return line  # "..." has no word in it
    return "".join(dict.fromkeys(odd))


def _is_spoken(sign: str) -> bool:
    return sign in _SPOKEN_SIGNS or sign.isalpha() or unicodedata.category(sign) in ("Mn", "Mc")


@lru_cache(maxsize=2_048)
def _template(source: str, language: str) -> Template:
    return _environment(language).from_string(source)


@lru_cache(maxsize=8)
def _environment(language: str) -> SandboxedEnvironment:
    environment = SandboxedEnvironment(undefined=StrictUndefined, autoescape=False)
    environment.filters = dict(filters(spoken_forms(language)))
    environment.globals.clear()
    environment.tests.clear()
    return environment


def _check_tree(node: nodes.Node, where: Where) -> None:
    if not isinstance(node, _ALLOWED):
        names = (name for kind, name in _NAMED.items() if isinstance(node, kind))
        raise PhraseError(
            f"{next(names, type(node).__name__)} has no place in a phrase",
            where=where,
            remedy="A phrase may use fields, filters and if.",
        )
    if isinstance(node, nodes.Filter):
        _check_filter(node, where)
    for child in node.iter_child_nodes():
        _check_tree(child, where)


def _check_filter_name(name: str, where: Where) -> None:
    known = sorted(_environment("en").filters)
    if name not in known:
        raise PhraseError(f"there is no filter {name!r}", where=where, remedy=offer(name, known))


def _check_filter(node: nodes.Filter, where: Where) -> None:
    _check_filter_name(node.name, where)
    if node.args or node.kwargs or node.dyn_args or node.dyn_kwargs:
        raise PhraseError(
            f"the filter {node.name!r} takes nothing in brackets",
            where=where,
            remedy=f"Write | {node.name}.",
        )


def _check_fields(mentioned: frozenset[str], kind: CueKind, where: Where) -> None:
    allowed = CUE_KINDS[kind].fields
    for name in sorted(mentioned - allowed):
        if not allowed:
            raise PhraseError(
                f"a {kind} line may mention no fields, not {name!r}",
                where=where,
                remedy="Write words alone.",
            )
        raise PhraseError(
            f"a {kind} line has no field {name!r}", where=where, remedy=offer(name, sorted(allowed))
        )


def _filter_advice(mentioned: frozenset[str]) -> str:
    spoken = [
        f"{{{{ {name} | {FIELDS[name].filter} }}}}"
        for name in sorted(mentioned)
        if FIELDS[name].filter
    ]
    return f"Fields are said by filters: {', '.join(spoken)}." if spoken else ""
