"""Cut files that are altered after they were written: each is refused in a sentence."""

import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from ezdxf.path import make_path

import personalize
from personalize import cut_files
from personalize.checks.wall import Expected, check_wall
from personalize.errors import WallError
from tests.conftest import command, drawing, line, put

LETTER = [(100, 50), (101, 50), (101, 57), (100, 57)]
"""Outline of a capital I, in mm."""
GUESTS = "front,name\n" + "".join(f"{n},{n}\n" for n in ("Io", "Bo", "Noor", "Al"))


@dataclass(frozen=True)
class File:
    """A cut file of a run as it was proved, and what it must hold."""

    name: str
    data: bytes
    must: Expected

    def proved(self, data: bytes | str) -> None:
        """Hold altered bytes against the wall."""
        raw = data.encode() if isinstance(data, str) else data
        check_wall(raw, self.name, self.must)


def files_of(folder: Path, *words: str | Path) -> list[File]:
    """Make a run, and note what it proves."""
    found = []

    def note(data: bytes, name: str, must: Expected) -> None:
        found.append(File(name, data, must))
        check_wall(data, name, must)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cut_files, "check_wall", note)
        done = command(
            "make", folder / "guests.csv", *words, "--no-proof", "--paper", "A5",
            "--out", folder / "out",
        )  # fmt: skip
    assert done.exit_code in (0, 1), done.output
    return found


RUNS: dict[str, tuple[str, ...]] = {
    "tags": ("--design", "tag.svg", "--creases", "dashes", "--nicks", "3,0.5",
              "--around", "2"),
    "kits": ("--design", "tag.svg", "--design", "leaf.svg", "--by-guest",
             "--nicks", "2,0.5"),
}  # fmt: skip


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, File]:
    """Cut files of all kinds of a run with every rule, and of kits on shared sheets."""
    found = {}
    for run, words in RUNS.items():
        folder = tmp_path_factory.mktemp(run)
        hole = '<circle class="edge" cx="10" cy="20" r="3" fill="none" stroke="#000"/>'
        tag = line("M2 2H50C58 2 58 38 50 38H2Z", "edge") + line("M30 2V38", "fold") + hole
        put(
            folder,
            {
                "tag.svg": drawing(tag),
                "leaf.svg": drawing(line("M2 2H42L50 20L42 38H2Z", "edge")),
                "guests.csv": GUESTS,
            },
        )
        for curves in ("arcs", "splines", "polylines"):
            named = [folder / word if word.endswith(".svg") else word for word in words]
            also = "dxf,together" if curves == "arcs" else "dxf"
            more = ["--also", also, "--dxf-curves", curves]
            for one in files_of(folder, *named, *more):
                key = curves if one.name.endswith(".dxf") else one.name.split("-")[0]
                found[f"{run} {key.removesuffix('.svg')}"] = one
    return found


def path_of(points: list[tuple[float, float]], end: str = "Z") -> str:
    start, *rest = (f"{x:.5f} {y:.5f}" for x, y in points)
    return f'<path d="M{start}{"".join("L" + p for p in rest)}{end}"/>'


Change = Callable[[str], str]
PATH = re.compile(r'<path d="[^"]+"/>\n')
GROUP_END = "</g>\n"


def nth(text: str, number: int, new: Callable[[str], str]) -> str:
    """Change one of the paths of a file; a negative number counts from the last."""
    found = list(PATH.finditer(text))[number]
    return text[: found.start()] + new(found[0]) + text[found.end() :]


def aside(path: str, dx: float, dy: float) -> str:
    def moved(match: re.Match[str]) -> str:
        values = [float(v) for v in match[2].split()]
        at = 5 if match[1] == "A" else 0
        for i in range(at, len(values)):
            values[i] += (dx, dy)[(i - at) % 2]
        return match[1] + " ".join(f"{v:.5f}".rstrip("0").rstrip(".") for v in values)

    return re.sub(r"([MLCA])([-\d. ]+)", moved, path)


def nicked(path: str) -> str:
    """Leave out the middle half millimetre of the first straight."""
    found = re.search(r"(?<=[ML])([-\d.]+) ([-\d.]+)L([-\d.]+) ([-\d.]+)", path)
    assert found
    a, b = np.array(found.groups(), dtype=float).reshape(2, 2)
    way = (b - a) / np.hypot(*(b - a))
    (ax, ay), (bx, by) = (a + b) / 2 - way / 4, (a + b) / 2 + way / 4
    head = path[: found.end(2)] + f"L{ax:.5f} {ay:.5f}"
    tail = f'"/>\n<path d="M{bx:.5f} {by:.5f}L' + path[found.start(3) :]
    return head + tail.replace("Z", "")


SVG_CHANGES: dict[str, Change] = {
    "a letter among the cuts": lambda t: GROUP_END.join(
        (*t.split(GROUP_END)[:-1][:-1], t.split(GROUP_END)[-2] + path_of(LETTER) + "\n", "")
    ) + t.split(GROUP_END)[-1],
    "a letter among the creases": lambda t: t.replace(
        GROUP_END, path_of(LETTER) + "\n" + GROUP_END, 1),
    "the first line missing": lambda t: nth(t, 0, lambda p: ""),
    "the last line missing": lambda t: nth(t, -1, lambda p: ""),
    "the first line doubled": lambda t: nth(t, 0, lambda p: p + p),
    "the last line doubled": lambda t: nth(t, -1, lambda p: p + p),
    "a line twice for another": lambda t: nth(t, 0, lambda p: PATH.findall(t)[1]),
    "the first line aside": lambda t: nth(t, 0, lambda p: aside(p, 0.02, 0)),
    "the last line aside": lambda t: nth(t, -1, lambda p: aside(p, 0, -0.02)),
    "all lines aside": lambda t: PATH.sub(lambda m: aside(m[0], 0.02, 0), t),
    "another layer": lambda t: t.replace('id="Creasing"', 'id="Perforating"'),
    "a nick too many": lambda t: nth(t, -1, nicked),
    "a stylesheet": lambda t: t.replace("<svg", '<?xml-stylesheet href="a.css"?><svg', 1),
    "a name in a comment": lambda t: t + "<!-- Ada -->",
    "a comment among lines": lambda t: t.replace(GROUP_END, f"<!-- Ada -->{GROUP_END}", 1),
    "a number of Python's": lambda t: re.sub(r'd="M(\d)(\d)', r'd="M\1_\2', t, count=1),
    "digits of another script": lambda t: re.sub(
        r'd="M(\d)', lambda m: f'd="M{chr(0x660 + int(m[1]))}', t, count=1),
    "a space of another kind": lambda t: re.sub(r'd="M(\S+) ', 'd="M\\1\u00a0', t, count=1),
    "filled lines": lambda t: t.replace('fill="none"', 'fill="#000"', 1),
    "fill unsaid": lambda t: t.replace('fill="none" ', "", 1),
    "lines that are not drawn": lambda t: t.replace('stroke="#000"', 'stroke="none"', 1),
    "thick lines": lambda t: t.replace('stroke-width="0.1"', 'stroke-width="9"', 1),
    "dashed cuts": lambda t: t.replace(
        'id="Cutting"', 'id="Cutting" stroke-dasharray="2 2"'),
    "a box of words": lambda t: t.replace('viewBox="0 0', 'viewBox="a b', 1),
    "a box cut short": lambda t: t.replace(' 210">', '">', 1),
    "a width of words": lambda t: t.replace('width="148mm"', 'width="wide mm"', 1),
}  # fmt: skip


@pytest.mark.parametrize("change", SVG_CHANGES.values(), ids=SVG_CHANGES)
@pytest.mark.parametrize("kind", ["cut", "together"])
@pytest.mark.parametrize("run", RUNS)
def test_an_altered_svg_is_refused(
    run: str, kind: str, change: Change, files: dict[str, File]
) -> None:
    one = files[f"{run} {kind}"]
    good = one.data.decode()
    bad = change(good)
    assert bad != good
    one.proved(good)
    refused(one, bad)


def refused(one: File, bad: bytes | str) -> None:
    with pytest.raises(WallError) as told:
        one.proved(bad)
    said = str(told.value)
    assert said.startswith(one.name)
    assert said.endswith(".")
    assert "\n" not in said
    assert "function" not in said


# DXF, altered with another library -----------------------------------------------------


def letter(space: Any) -> None:
    add = space.add_polyline2d if space.doc.dxfversion == "AC1009" else space.add_lwpolyline
    add(LETTER, close=True, dxfattribs={"layer": "Cutting"})


def first(space: Any) -> Any:
    return next(iter(space))


def doubled(space: Any) -> None:
    space.add_entity(first(space).copy())


def twice_for_another(space: Any) -> None:
    doubled(space)
    space.delete_entity(list(space)[1])


def relayered(space: Any) -> None:
    one = first(space)
    other = "Perforating" if one.dxf.layer == "Creasing" else "Creasing"
    for part in (one, *(one.vertices if one.dxftype() == "POLYLINE" else ())):
        part.dxf.layer = other


def with_one_more_nick(space: Any) -> None:
    """Leave out half a millimetre where the last line begins."""
    last = list(space)[-1]
    points = [(v.x, v.y) for v in make_path(last).flattening(0.0005)]
    a, b = np.array(points[0]), np.array(points[1])
    points[0] = tuple(a + (b - a) * min(0.9, 0.5 / np.hypot(*(b - a))))
    add = space.add_polyline2d if space.doc.dxfversion == "AC1009" else space.add_lwpolyline
    add(points, dxfattribs={"layer": last.dxf.layer})
    space.delete_entity(last)


def switched(name: str) -> Callable[[Any], None]:
    return lambda space: getattr(space.doc.layers.get("Cutting"), name)()


def said(**attributes: Any) -> Callable[[Any], None]:
    return lambda space: first(space).dxf.update(attributes)


DXF_CHANGES: dict[str, Callable[[Any], None]] = {
    "a letter": letter,
    "words": lambda space: space.add_text("Ada", dxfattribs={"layer": "Cutting"}),
    "a circle": lambda space: space.add_circle((9, 9), 3, {"layer": "Cutting"}),
    "a point": lambda space: space.add_point((9, 9), {"layer": "Cutting"}),
    "a line missing": lambda space: space.delete_entity(first(space)),
    "a line doubled": doubled,
    "a line twice for another": twice_for_another,
    "a line aside": lambda space: first(space).translate(0.02, 0, 0),
    "all lines aside": lambda space: [one.translate(0, 0.02, 0) for one in space],
    "another layer": relayered,
    "a layer that is off": switched("off"),
    "a layer that is frozen": switched("freeze"),
    "a nick too many": with_one_more_nick,
    "a mirror image": said(extrusion=(0, 0, -1)),
    "a line that is not seen": said(invisible=1),
    "a line of dashes": said(linetype="DASHED"),
    "a line on a page of its own": said(paperspace=1),
    "a line of a colour": said(color=1),
}


@pytest.mark.parametrize("change", DXF_CHANGES.values(), ids=DXF_CHANGES)
@pytest.mark.parametrize("curves", ["arcs", "splines", "polylines"])
@pytest.mark.parametrize("run", RUNS)
def test_an_altered_dxf_is_refused(
    run: str, curves: str, change: Callable[[Any], None], files: dict[str, File]
) -> None:
    one = files[f"{run} {curves}"]

    def rewritten(change: Callable[[Any], Any]) -> bytes:
        document = ezdxf.read(io.StringIO(one.data.decode()))
        change(document.modelspace())
        out = io.StringIO()
        document.write(out)
        return out.getvalue().encode()

    # What the library itself adds is no reason to refuse a file.
    good, bad = rewritten(lambda space: None), rewritten(change)
    one.proved(good)
    if good == bad:
        # R12 has no way to say that a line is not seen.
        assert (curves, change) == ("polylines", DXF_CHANGES["a line that is not seen"])
        return
    refused(one, bad)


WRITTEN = {
    "a comment": lambda t: f"999\nAda\n{t}",
    "a line between sections": lambda t: t.replace(
        "  0\nEOF", "  0\nLINE\n  8\nCutting\n 10\n0\n 20\n0\n 11\n9\n 21\n9\n  0\nEOF"),
    "a number of Python's": lambda t: re.sub(
        r"(ENTITIES(?:.|\n)*?\n 20\n)(\d)", r"\1\g<2>_0", t, count=1),
    "a code of Python's": lambda t: t.replace("\n 10\n", "\n 1_0\n", 1),
    "a layer twice": lambda t: re.sub(
        r"(ENTITIES(?:.|\n)*?\n  8\n)", r"\1Words\n  8\n", t, count=1),
    "inches": lambda t: (
        t.replace("$INSUNITS\n 70\n4", "$INSUNITS\n 70\n1")
        if "$INSUNITS" in t
        else t.replace("  9\n$ACADVER", "  9\n$INSUNITS\n 70\n1\n  9\n$ACADVER", 1)
    ),
}  # fmt: skip


@pytest.mark.parametrize("change", WRITTEN.values(), ids=WRITTEN)
@pytest.mark.parametrize("curves", ["arcs", "splines", "polylines"])
def test_dxf_text_that_others_read_otherwise_is_refused(
    curves: str, change: Change, files: dict[str, File]
) -> None:
    one = files[f"kits {curves}"]
    good = one.data.decode()
    bad = change(good)
    assert bad != good
    refused(one, bad)


def test_the_cut_round_the_pieces_keeps_its_distance(files: dict[str, File]) -> None:
    one = files["tags cut"]
    good = one.data.decode()
    frame = PATH.findall(good)[-1]
    for dx, dy in ((0.02, 0), (0, 0.02), (-1.9, 0), (1.9, 1.9)):
        refused(one, good.replace(frame, aside(frame, dx, dy)))
    whole = path_of([(1, 1), (147, 1), (147, 209), (1, 209)]) + "\n"
    with pytest.raises(WallError, match="not 2 mm away"):
        one.proved(good.replace(frame, whole))


def test_a_breach_stops_the_run_and_nothing_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written = cut_files.cut_svg
    monkeypatch.setattr(
        cut_files, "cut_svg", lambda layout: nth(written(layout), 0, lambda p: p + p)
    )
    put(tmp_path, {"guests.csv": GUESTS, "tag.svg": drawing(line("M2 2H58V38H2Z", "edge"))})
    table = personalize.read_table(tmp_path / "guests.csv")
    design = personalize.load_design(tmp_path / "tag.svg")
    with pytest.raises(WallError, match=r"cut\.svg draws a Cutting line near"):
        personalize.make(table, design, tmp_path / "out")
    assert not (tmp_path / "out").exists()
