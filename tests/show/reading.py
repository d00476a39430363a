"""Reading a drawing back: its texts, where they stand, and what is to scale in it."""

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass

from planner.show.drawings.svg import WIDTH, text_width

SVG = "{http://www.w3.org/2000/svg}"
SHOWN_WIDTH, LEAST_SIZE = 350.0, 12.0  # px: a phone's column, and the smallest text that reads there


@dataclass(frozen=True)
class Text:
    """A text with the room it may take."""

    words: str
    left: float
    top: float
    right: float
    bottom: float
    size: float


def parsed(drawing):
    """Return a drawing as a tree; fails where it is not XML."""
    return ET.fromstring(drawing.svg)  # noqa: S314  # our own drawing, whose validity is what is tested


def height_of(drawing):
    return float(parsed(drawing).get("viewBox").split()[3])


def texts(drawing):
    """Return every text with its box, as wide as its widest font would make it."""
    return [_text(element) for element in parsed(drawing).iter(f"{SVG}text")]


def words(drawing):
    return [text.words for text in texts(drawing)]


def _text(element):
    parts = [(element.text or "", element)] if not len(element) else [(part.text, part) for part in element]
    sizes = [float(part.get("font-size")) for _, part in parts]
    width = sum(
        text_width(said, size, bold=part.get("font-weight") is not None) + float(part.get("dx", 0))
        for (said, part), size in zip(parts, sizes, strict=True)
    )
    x, y, size = float(element.get("x")), float(element.get("y")), max(sizes)
    left = x - {"start": 0.0, "middle": width / 2, "end": width}[element.get("text-anchor", "start")]
    return Text(" ".join(said for said, _ in parts), left, y - 0.76 * size, left + width, y + 0.05 * size, min(sizes))


def misplaced(drawing):
    """Return what is wrong with the texts of a drawing: cut, on another text, or too small on a phone."""
    found, all_texts, height = [], texts(drawing), height_of(drawing)
    for n, one in enumerate(all_texts):
        if one.left < 0 or one.right > WIDTH or one.top < 0 or one.bottom > height:
            found.append(f"{one.words!r} is cut")
        if one.size * SHOWN_WIDTH / WIDTH < LEAST_SIZE:
            found.append(f"{one.words!r} is too small")
        for other in all_texts[n + 1 :]:
            beside = one.right <= other.left + 0.5 or other.right <= one.left + 0.5
            apart = one.bottom <= other.top + 0.5 or other.bottom <= one.top + 0.5
            if not beside and not apart:
                found.append(f"{one.words!r} is on {other.words!r}")
    return found


def shapes(drawing, cls):
    """Return the elements of a class, such as "tyre rear", in the order drawn."""
    wanted = set(cls.split())
    return [element for element in parsed(drawing).iter() if wanted <= set(element.get("class", "").split())]


def middle(element):
    """Return the centre of a circle or a rectangle."""
    if element.get("cx"):
        return float(element.get("cx")), float(element.get("cy"))
    x, y, width, height = (float(element.get(name)) for name in ("x", "y", "width", "height"))
    return x + width / 2, y + height / 2


def points(element):
    """Return the points of a path of straight lines."""
    return [tuple(map(float, pair)) for pair in re.findall(r"[ML](\S+) ([^LMZ]+)", element.get("d"))]
