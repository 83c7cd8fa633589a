"""Small drawings to inspect, with what a person takes their lines for."""

from personalize.design.inspect import inspect_svg
from personalize.design.spec import DesignSpec
from tests.conftest import drawing

BOX = '<rect id="a" x="5" y="5" width="50" height="30" fill="none" stroke="red"/>'


def kinds(text: str) -> dict[str, str]:
    """What each shape with an id is taken for."""
    seen = inspect_svg(text.encode(), "kit.svg", DesignSpec(place="kit.svg"))
    return {one: str(group.kind) for group in seen.groups for one in group.ids}


# What a person takes each for who sees it in a carton drawing. Common practice, no source.
GUESSES: dict[str, tuple[str, dict[str, str]]] = {
    "closed and outermost": (BOX, {"a": "Cutting"}),
    "a hole": (
        BOX + '<circle id="b" cx="15" cy="15" r="3" fill="none" stroke="red"/>',
        {"a": "Cutting", "b": "Cutting"},
    ),
    "a ring that is drawn unlike the outline": (
        BOX + '<circle id="b" cx="15" cy="15" r="3" fill="none" stroke="green"/>',
        {"a": "Cutting", "b": "artwork"},
    ),
    "a dashed ring": (
        BOX + '<circle id="b" cx="15" cy="15" r="3" fill="none" stroke="#000"'
        ' stroke-dasharray="1"/>',
        {"a": "Cutting", "b": "Perforating"},
    ),
    "open from edge to edge": (
        BOX + '<path id="b" d="M30 5V35" fill="none" stroke="blue"/>',
        {"a": "Cutting", "b": "Creasing"},
    ),
    "a line element, whose fill is black but shows nowhere": (
        BOX + '<line id="b" x1="30" y1="5" x2="30" y2="35" stroke="blue"/>',
        {"a": "Cutting", "b": "Creasing"},
    ),
    "dashed": (
        BOX + '<path id="b" d="M30 9V30" stroke="blue" stroke-dasharray="2 1"/>',
        {"a": "Cutting", "b": "Creasing"},
    ),
    "strokes in a row": (
        BOX
        + "".join(
            f'<path id="b{y}" d="M30 {y}v2" stroke="#00f"/>' for y in range(5, 34, 4)
        ),
        {"a": "Cutting"} | {f"b{y}": "Creasing" for y in range(5, 34, 4)},
    ),
    "a squiggle inside": (
        BOX + '<path id="b" d="M20 15q5 9 9 0" fill="none" stroke="blue"/>',
        {"a": "Cutting", "b": "artwork"},
    ),
    "a crop mark": (
        BOX + '<path id="b" d="M0 5h3" stroke="#000"/>',
        {"a": "Cutting", "b": "ignore"},
    ),
    "a filled shape": (
        BOX + '<rect id="b" x="10" y="10" width="9" height="9" fill="red"/>',
        {"a": "Cutting", "b": "artwork"},
    ),
    "a filled shape called edge": (
        BOX + '<rect id="edge" x="1" y="1" width="58" height="38" fill="red"/>',
        {"a": "Cutting", "edge": "artwork"},
    ),
    "an outline in four pieces": (
        '<g fill="none" stroke="red"><path id="a" d="M5 5H55"/><path id="b" d="M55 35V5"/>'
        '<path id="c" d="M55 35H5"/><path id="d" d="M5 5.004V35"/></g>',
        dict.fromkeys("abcd", "Cutting"),
    ),
    "a filled outline and nothing else": (
        '<rect id="a" x="5" y="5" width="50" height="30" fill="#fee" stroke="red"/>'
        '<rect id="b" x="9" y="9" width="5" height="5" fill="#fee" stroke="red"/>',
        {"a": "Cutting", "b": "artwork"},
    ),
    "names": (
        BOX.replace('id="a"', 'id="Cut_1"')
        + '<path id="perf" d="M30 5V35" stroke="red"/><path id="b" class="glue-area"'
        ' d="M40 10h9v9h-9z" fill="none" stroke="red"/><path id="kissCut" d="M10 10h9v9z"'
        ' fill="none" stroke="red"/><path id="c" d="M41 5V35" stroke="blue"/>',
        {
            "Cut_1": "Cutting",
            "perf": "Perforating",
            "b": "Gluing",
            "kissCut": "PartialCutting",
            "c": "Creasing",
        },
    ),
    "a layer of lines, one of them dashed": (
        '<g id="Cut_lines">' + BOX + '<path id="b" d="M30 5V35" stroke="red"'
        ' stroke-dasharray="2"/></g>',
        {"a": "Cutting", "b": "Creasing"},
    ),
    "a named outline among other closed lines": (
        BOX.replace('id="a"', 'id="a" class="edge"')
        + '<rect id="b" width="60" height="40" fill="none" stroke="red"/>',
        {"a": "Cutting", "b": "artwork"},
    ),
    "a T": (
        BOX
        + '<g stroke="blue"><path id="b" d="M30 5V35"/><path id="c" d="M30 20H55"/></g>',
        {"a": "Cutting", "b": "Creasing", "c": "Creasing"},
    ),
}


KITS = {name: drawing(inside) for name, (inside, _) in GUESSES.items()}


STRIP = (
    '<rect id="edge" x="2" y="2" width="56" height="36" fill="none" stroke="#000"/>'
    '<path id="a" class="fold" d="M20 2V38" stroke="#000" stroke-dasharray="3 2"/>'
    '<path id="b" class="fold" d="M40 2V38" stroke="#000" stroke-dasharray="3 2"/>'
)
