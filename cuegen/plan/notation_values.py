"""The values of the whiteboard notation: from words on a board to lengths, rates and targets.

Conventions
    Each function takes the source and one node of the parse tree (notation.lark),
    checks the value against limits.py and raises PlanError at its very text.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal

from lark import Token, Tree

from cuegen.clock import MS_PER_MIN, MS_PER_S, clock_text, parse_clock, parse_split
from cuegen.plan import limits
from cuegen.plan.model import (
    Distance,
    Duration,
    FreeTarget,
    LastAtOffset,
    LastAtRate,
    Length,
    Rate,
    SplitTarget,
    StepTarget,
    Target,
    WattsTarget,
)
from cuegen.plan.notation_tree import Node, fault, token_of, tokens
from cuegen.plan.source import Source

LENGTH_FORMS = "A length is written 4:00, 4min or 750m."
AIM_FORMS = "A target is written @2:05, @210W, @-3, @last r18, @last+2, @last, @last-1s or @free."

_CHANGE_FORMS = "Seconds per 500 m faster or slower are written @last-1s, @last+2-1s, @last r20-1s."

_UNIT_NAMES = {
    "m": ("m", "metre", "metres", "meter", "meters"),
    "min": ("min", "mins", "minute", "minutes", "'", "\u2032"),
    "s": ("s", "sec", "secs", "second", "seconds", '"', "\u2033"),
    "h": ("h", "hour", "hours"),
    "km": ("k", "km"),
    "W": ("w", "watt", "watts"),
}
_UNITS = {name: unit for unit, names in _UNIT_NAMES.items() for name in names}
_QUANTITY = re.compile(r"([0-9.]+)\s*(\D+)")


def whole(source: Source, token: Token, what: str) -> int:
    """Return a whole number, or raise."""
    if not token.isdigit():
        raise fault(source, token, f"{what} is a whole number", f"Write {token.split('.')[0]}.")
    return int(token)


def read_length(source: Source, node: Tree[Token]) -> Length:
    """Return a length of at least a second or MIN_DISTANCE_M, and at most 12 hours."""
    token = token_of(node)
    reader = {"CLOCK": _clock, "QUANTITY": _quantity, "NUMBER": _bare_length}[token.type]
    length = reader(source, token)
    size = length.ms if isinstance(length, Duration) else length.metres
    if size == 0:
        raise fault(source, token, "this length is zero", "Give it time, or leave the line out.")
    if isinstance(length, Distance) and length.metres < limits.MIN_DISTANCE_M:
        raise fault(
            source,
            token,
            f"{length.metres} m is too short a piece to row",
            f"Did you mean {length.metres}:00 or {length.metres}min? "
            f"Metres start at {limits.MIN_DISTANCE_M}m.",
        )
    if limits.reckoned_ms(length) > limits.MAX_SESSION_MS:
        raise fault(source, token, "this length is over 12 hours", "Check its digits.")
    return length


def _clock(source: Source, token: Token) -> Length:
    if "." in token:
        raise fault(source, token, "a length is in whole seconds", "Leave out the decimals.")
    _check_clock(source, token, str(token), "a length is minutes and seconds")
    ms = parse_clock(str(token))
    if ms is None:  # four or more digits of minutes: well-formed, and far beyond any session
        raise fault(source, token, "this length is over 12 hours", "Check its digits.")
    return Duration(ms)


def _check_clock(source: Source, token: Token, clock: str, form: str) -> None:
    """Raise for minutes or seconds that no clock shows."""
    head, *rest = clock.split(":")
    if len(rest) > 2:
        raise fault(source, token, "this has too many colons", "At most h:mm:ss, e.g. 1:10:00.")
    for name, digits in zip(("seconds", "minutes"), reversed(rest), strict=False):
        if len(digits) != 2:
            padded = len(digits) == 1 and len(head) <= 3
            remedy = f"Write {head}:0{digits}." if padded else "Write m:ss, e.g. 4:00."
            raise fault(source, token, f"{form}, with two digits for the {name}", remedy)
        if int(digits) > 59:
            raise fault(source, token, f"{name} go up to 59, not {digits}", _carried(head, rest))


def _carried(head: str, rest: list[str]) -> str:
    if len(rest) == 1 and len(head) <= 3:
        ms = (int(head) * 60 + int(rest[0])) * MS_PER_S
        return f"Did you mean {clock_text(ms)}?"
    return "Write h:mm:ss, e.g. 1:10:00."


def _quantity(source: Source, token: Token) -> Length:
    number, unit = _split_quantity(source, token)
    kind = _UNITS.get(unit, "")
    if kind == "m":
        if number != int(number):
            raise fault(source, token, "metres are whole", f"Write {int(number)}m.")
        return Distance(int(number))
    if kind == "min" and unit.isalpha():
        ms = number * MS_PER_MIN
        if ms % MS_PER_S:
            raise fault(source, token, "this is no whole number of seconds", "Write m:ss.")
        return Duration(int(ms))
    raise fault(source, token, f"{unit!r} is no unit of length here", _unit_remedy(number, kind))


def _unit_remedy(number: Decimal, kind: str) -> str:
    scale = {"min": MS_PER_MIN, "s": MS_PER_S, "h": 60 * MS_PER_MIN}
    if kind in scale and number < 1000:
        return f"Did you mean {clock_text(int(number * scale[kind]))}?"
    if kind == "km" and number < 1000:
        return f"Did you mean {int(number * 1000)}m?"
    return LENGTH_FORMS


def _bare_length(source: Source, token: Token) -> Length:
    guess = f"{token}:00"
    if token.isdigit() and int(token) >= limits.MIN_DISTANCE_M:
        guess += f" or {token}m"
    remedy = f"Did you mean {guess}?" if len(token) <= 4 and token.isdigit() else LENGTH_FORMS
    raise fault(source, token, "this number has no unit", remedy)


def _split_quantity(source: Source, token: Token) -> tuple[Decimal, str]:
    match = _QUANTITY.fullmatch(token)
    if match is None:
        raise fault(source, token, "this cannot be read", LENGTH_FORMS)
    return _decimal(source, token, match[1]), match[2].lower()


def _decimal(source: Source, node: Node, digits: str) -> Decimal:
    """Return a number of sensible size, so that arithmetic with it is exact."""
    before, _, after = digits.partition(".")
    if len(before) > 7 or len(after) > 3:
        raise fault(source, node, "this number has too many digits", "Check it.")
    return Decimal(digits)


def read_rate(source: Source, node: Tree[Token]) -> Rate:
    """Return a rate or a band, of 1 to MAX_RATE strokes per minute."""
    numbers = [token for token in tokens(node) if token.type == "NUMBER"]
    values = [_plausible_rate(source, token) for token in numbers]
    low, high = values[0], values[-1]
    if low > high:
        raise fault(
            source,
            node,
            "this band of rates runs downwards",
            f"Did you mean {high}-{low}?",
        )
    return Rate(low, high)


def _plausible_rate(source: Source, token: Token) -> int:
    rate = whole(source, token, "a rate")
    if not 1 <= rate <= limits.MAX_RATE:
        raise fault(
            source,
            token,
            "nobody rows at this rate",
            f"Give a rate from 1 to {limits.MAX_RATE}, e.g. r20.",
        )
    return rate


def read_targets(source: Source, aims: list[Tree[Token]]) -> tuple[Target, ...]:
    """Return the targets of a list; `r20` continues only a `last r18`."""
    targets: list[Target] = []
    for aim in aims:
        if aim.data == "next_rate":
            if not (targets and isinstance(targets[-1], LastAtRate)):
                raise fault(source, aim, "this is no target on its own", _next_rate_remedy(aim))
            targets.append(_last_rate(source, aim))
        else:
            targets.append(_AIMS[aim.data](source, aim))
    return tuple(targets)


def _next_rate_remedy(aim: Tree[Token]) -> str:
    number = tokens(aim)[-1]
    if len(number) <= 2:
        return f"Did you mean @-{number}, @last+{number} or @last r{number}?"
    return f"Did you mean @{number}W?" if len(number) <= 4 else AIM_FORMS


def _split(source: Source, aim: Tree[Token]) -> Target:
    token = token_of(aim)
    clock, _, fraction = token.partition(".")
    if len(fraction) > 3 or clock.count(":") > 1:
        raise fault(source, token, "this is no split", "Write m:ss or m:ss.t, e.g. @2:05.5.")
    _check_clock(source, token, clock, "a split is minutes and seconds per 500 m")
    split = parse_split(str(token))
    if split is None or not limits.MIN_SPLIT_MS <= split <= limits.MAX_SPLIT_MS:
        raise fault(
            source,
            token,
            "nobody holds this split",
            f"Give a time per 500 m from {clock_text(limits.MIN_SPLIT_MS)} "
            f"to {clock_text(limits.MAX_SPLIT_MS)}.",
        )
    return SplitTarget(split)


def _watts(source: Source, aim: Tree[Token]) -> Target:
    token = token_of(aim)
    number, unit = _split_quantity(source, token)
    if _UNITS.get(unit) != "W":
        raise fault(source, token, f"{unit!r} is no unit of a target", AIM_FORMS)
    if number != int(number) or not 1 <= number <= limits.MAX_WATTS:
        raise fault(
            source,
            token,
            "watts are whole, and within what a rower can do",
            f"Give 1 to {limits.MAX_WATTS} W, e.g. @210W.",
        )
    return WattsTarget(int(number))


def _signed(source: Source, aim: Tree[Token]) -> Decimal:
    *_, sign, number = tokens(aim)
    value = _decimal(source, aim, str(number))
    return value if sign.type == "PLUS" else -value


def _step(source: Source, aim: Tree[Token]) -> Target:
    return StepTarget(_step_ms(source, aim, _signed(source, aim)))


def _step_ms(source: Source, aim: Tree[Token], seconds: Decimal) -> int:
    change = seconds * MS_PER_S
    if change != int(change) or abs(change) > limits.MAX_STEP_MS:
        raise fault(
            source,
            aim,
            "this is no plausible step in seconds per 500 m",
            f"Give at most {limits.MAX_STEP_MS // MS_PER_S} s, to the thousandth, e.g. @-3.",
        )
    return int(change)


def _last_rate(source: Source, aim: Tree[Token]) -> Target:
    return LastAtRate(_plausible_rate(source, _own_tokens(aim)[-1]), _change(source, aim))


def _own_tokens(aim: Tree[Token]) -> list[Token]:
    """Return the tokens of a target, those of its change left aside."""
    return [child for child in aim.children if isinstance(child, Token)]


def _change(source: Source, aim: Tree[Token]) -> int:
    """Return by how much a target lies off what was held, in ms per 500 m; 0 without."""
    for change in aim.children:
        if isinstance(change, Tree):
            sign, quantity = tokens(change)
            number, unit = _split_quantity(source, quantity)
            if _UNITS.get(unit) != "s":
                raise fault(source, change, f"{unit!r} is no unit of a change", _CHANGE_FORMS)
            return _step_ms(source, change, number if sign.type == "PLUS" else -number)
    return 0


def _last_offset(source: Source, aim: Tree[Token]) -> Target:
    change_ms = _change(source, aim)
    _, *signed = _own_tokens(aim)
    if not signed:
        return LastAtOffset(0, change_ms)
    sign, number = signed
    offset = _decimal(source, aim, str(number)) * (1 if sign.type == "PLUS" else -1)
    if offset != int(offset) or abs(offset) > limits.MAX_LAST_OFFSET:
        raise fault(
            source,
            aim,
            "strokes above or below this rate are a small whole number",
            f"Give at most {limits.MAX_LAST_OFFSET}, e.g. @last+2.",
        )
    return LastAtOffset(int(offset), change_ms)


def _free(_source: Source, _aim: Tree[Token]) -> Target:
    return FreeTarget()


_AIMS: dict[str, Callable[[Source, Tree[Token]], Target]] = {
    "split": _split,
    "watts": _watts,
    "step": _step,
    "last_rate": _last_rate,
    "last_offset": _last_offset,
    "free": _free,
}


def read_efforts(source: Source, node: Tree[Token]) -> tuple[int, ...]:
    """Return efforts in per cent; in a list the last % stands for all."""
    percents = [tokens(child) for child in node.children if isinstance(child, Tree)]
    if len(percents[-1]) == 1:
        raise fault(
            source,
            node,
            "this number has no unit",
            f"Did you mean {percents[-1][0]}%?",
        )
    return tuple(_effort(source, tokens[0]) for tokens in percents)


def _effort(source: Source, token: Token) -> int:
    effort = whole(source, token, "an effort")
    if not 1 <= effort <= limits.MAX_EFFORT_PCT:
        raise fault(
            source,
            token,
            "an effort is a share of the most a rower can do",
            f"Efforts go from 1% to {limits.MAX_EFFORT_PCT}%.",
        )
    return effort
