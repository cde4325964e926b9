"""A drawing as plain SVG: what matplotlib writes, laid flat, named and described.

What a plotting library writes leans on style sheets, references and clip paths. A
page whose policy allows one style by its digest (cuegen.sheet.page) shows none of
them, and a reader's program may not either. Here each mark stands for itself: groups,
paths and texts whose colours and sizes are presentation attributes (W3C SVG 1.1,
section 6.4), a `title` and a `desc` first, words as words, and no id but our own.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

NAMESPACE = "http://www.w3.org/2000/svg"
FAMILY = "Avenir Next, Segoe UI, Liberation Sans, Arial, sans-serif"
"""The faces of cuegen's pages (templates/look.css)."""

_LINK = "{http://www.w3.org/1999/xlink}href"
_LEFT_OUT = ("defs", "metadata")
_UNTURNED = re.compile(r"rotate\(-?0 [^)]*\)")


@dataclass(frozen=True, slots=True)
class Words:
    """What a drawing is called and says. name: the first part of its title's id."""

    name: str
    title: str
    desc: str


def plain_svg(svg: str, words: Words) -> str:
    """Return matplotlib's SVG as an SVG file."""
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + _written(_flat(svg, words)) + "\n"


def page_svg(svg: str, words: Words, colours: Mapping[str, str]) -> str:
    """Return matplotlib's SVG as an element of a page.

    colours: what stands for each colour there ("#14181a": "var(--ink)").
    """
    root = _flat(svg, words)
    del root.attrib["width"], root.attrib["height"]
    for element in root.iter():
        for name in ("fill", "stroke"):
            if (colour := element.get(name, "")) in colours:
                element.set(name, colours[colour])
    return _written(root)


def _flat(svg: str, words: Words) -> ET.Element:
    drawn = ET.fromstring(svg)
    shapes = {one.get("id"): one for one in drawn.iter(f"{{{NAMESPACE}}}path") if one.get("id")}
    root = ET.Element("svg", _root_attributes(drawn, words))
    for tag, text in (("title", words.title), ("desc", words.desc)):
        ET.SubElement(root, tag, {"id": f"{words.name}-{tag}"}).text = text
    root.extend(copy for child in drawn for copy in _copies(child, shapes))
    return root


def _root_attributes(drawn: ET.Element, words: Words) -> dict[str, str]:
    return {
        "xmlns": NAMESPACE,
        "viewBox": drawn.get("viewBox", ""),
        "width": drawn.get("width", ""),
        "height": drawn.get("height", ""),
        "role": "img",
        "aria-labelledby": f"{words.name}-title",
        "aria-describedby": f"{words.name}-desc",
        "font-family": FAMILY,
        "stroke-linejoin": "round",
    }


def _copies(element: ET.Element, shapes: Mapping[str | None, ET.Element]) -> Iterator[ET.Element]:
    """Yield the plain copy of an element, or nothing where there is nothing to see."""
    tag = element.tag.rpartition("}")[2]
    if tag in _LEFT_OUT:
        return
    if tag == "use":
        shape = shapes[element.get(_LINK, "")[1:]]
        place = f"translate({element.get('x', '0')} {element.get('y', '0')})"
        look = _styled(shape) | _styled(element)
        yield ET.Element("path", {"d": _path(shape), "transform": place} | look)
        return
    copy = ET.Element(tag, _attributes(element))
    copy.text = element.text if tag == "text" else None
    copy.extend(child for one in element for child in _copies(one, shapes))
    if tag != "g" or len(copy):
        yield copy


def _attributes(element: ET.Element) -> dict[str, str]:
    """Return an element's attributes, of ids only ours: matplotlib's have no hyphen."""
    found = {name: value for name in ("x", "y", "transform") if (value := element.get(name))}
    if _UNTURNED.fullmatch(found.get("transform", "")):
        del found["transform"]
    if "d" in element.attrib:
        found["d"] = _path(element)
    if "-" in (own := element.get("id", "")):
        found["id"] = own
    return found | _styled(element)


def _styled(element: ET.Element) -> dict[str, str]:
    """Return a style as presentation attributes; the faces are the whole drawing's."""
    pairs = (one.partition(":") for one in element.get("style", "").split(";"))
    found = {name.strip(): value.strip() for name, _, value in pairs if value.strip()}
    found.pop("font-family", None)
    return found


def _path(element: ET.Element) -> str:
    return " ".join(element.get("d", "").split())


def _written(root: ET.Element) -> str:
    ET.indent(root, "")
    return ET.tostring(root, encoding="unicode")
