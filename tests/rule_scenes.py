"""Scenes in which every rule of findings is raised once at least."""

import base64
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import openpyxl
from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles import PatternFill
from pikepdf import Dictionary
from PIL import Image

import personalize
from personalize.changes import changes_as_findings, earlier_pieces
from personalize.colour_profile import Profile
from personalize.design.inspect import inspect_svg
from personalize.finding import Finding
from personalize.geometry.path import polyline
from personalize.sheet.backs import Flip
from personalize.sheet.hand import ByHand
from personalize.sheet.ink import MarkKind, RegisterMark
from personalize.sheet.precut import read_precut
from personalize.sheet.rules import SheetRules
from tests.artwork_cases import CHECK
from tests.artwork_files import page, png, saved, shape, spot
from tests.conftest import EDGE, drawing, line, put
from tests.press_made import press_profile

TOML = '[lines]\nCutting = "#edge"\n'
FOLDED = '[lines]\nCutting = "#edge"\nCreasing = ".fold"\n'
LONG = "Wilhelmina" * 9
FOLD = '<path class="fold" d="M30 2 V38" fill="none" stroke="#000"/>'


def run(
    folder: Path, cells: str | Path, toml: str = TOML, svg: str = EDGE
) -> tuple[Finding, ...]:
    """Check a list set in a design; bleed-missing and the like may be among them."""
    put(folder, {"tag.svg": drawing(svg), "tag.toml": toml})
    if isinstance(cells, str):
        put(folder, {"guests.csv": cells.encode("utf-8")})
        cells = folder / "guests.csv"
    design = personalize.load_design(folder / "tag.toml")
    return personalize.check(personalize.read_table(cells), design).findings


def seen(svg: str, toml: str = "") -> tuple[Finding, ...]:
    from personalize.design.spec import DesignSpec
    from personalize.design.toml import parse_design_toml

    spec = parse_design_toml(toml, "a.toml") if toml else DesignSpec(place="a.svg")
    return tuple(inspect_svg(svg.encode(), "a.svg", spec, None).findings)


def words(folder: Path) -> tuple[Finding, ...]:
    cells = (
        "front,dish,Qty,colour,photo,variant,version,picture\n"
        f"{LONG},,1,#fff,a.png,x,plum,a.png\n"
        "Bo\u0301,,1,#fff,a.png,x,,\nB\u00f3,,1,#fff,a.png,x,,\n"
        ",,1,#fff,a.png,x,,\n"
        " Maple,,1,#fff,a.png,x,,\nIv\u200bo,,1,#fff,a.png,x,,\n"
        "Ab\u0007a,,1,#fff,a.png,x,,\nJosÃ©,,1,#fff,a.png,x,,\n"
        "\u0378,,1,#fff,a.png,x,,\nमीना,,1,#fff,a.png,x,,\n"
        '"a\nb\nc\nd",,1,#fff,a.png,x,,\n'
    )
    toml = 'use = ["food", "children", "flame", "allergen"]\n' + TOML
    toml += "[type]\nmax_lines = 3\nletter_spacing_em = 0.1\nhyphenate = true\n"
    toml += 'language = "th"\nfeatures = ["zzzz"]\n'
    return run(folder, cells, toml)


def sizes(folder: Path) -> tuple[Finding, ...]:
    long = "Wilhelmina Featherstone-Castellanos de la Cruz"
    cells = f"front\n{long}\n" + "".join(f"Bo {c}\n" for c in "abcdefghijklm")
    return run(folder, cells) + run(
        folder, cells, TOML + '[type]\nsizes = "same"\nread_from_m = 3\n'
    )


def lists(folder: Path) -> tuple[Finding, ...]:
    panel = '[[panel]]\nname = "front"\nat = [30, 20]\ntext = "{name}"\n'
    found = run(folder, "name,4\nAda,1\nAda,2\n", TOML + panel)
    found += run(folder, "name,x,photo,variant\n3,Ada,a.png,b\n4,Bo,,\n", TOML + panel)
    put(folder, {"old.csv": "front\nZoë\nJürgen Müller\n".encode("cp1252")})
    return found + run(folder, folder / "old.csv")


def ring(folder: Path) -> tuple[Finding, ...]:
    panel = '[[panel]]\nname = "front"\nat = [30, 20]\nring = {}\n'
    return run(folder, 'front\n"a\nb"\n', TOML + panel)


def print_look(folder: Path) -> tuple[Finding, ...]:
    dark = '<rect width="60" height="40" fill="#000"/>'
    half = '<rect width="30" height="40" fill="#eee"/>'
    half += '<rect x="30" width="30" height="40" fill="#333"/>'
    panels = FOLDED + "[margins]\noutline = 0.5\nbleed = 0.5\n[stick]\ndiameter_mm = 1\n"
    thin = '[type]\nfont = "Lora Regular"\ncolour = "#222"\nmax_pt = 9\n'
    found = run(folder, "front\nBo\n", panels + thin, dark + EDGE + FOLD)
    found += run(folder, "front\nBo\n", FOLDED, half + EDGE + FOLD)
    bare = '<rect x="10" y="10" width="9" height="9" fill="#777"/>'
    return found + run(folder, "front\nBo\n", TOML, bare + EDGE)


def glued_and_torn(folder: Path) -> tuple[Finding, ...]:
    tints = '<rect width="60" height="40" fill="#eed"/>'
    glue = '<path id="glue" d="M40 10H50V30H40Z" fill="none" stroke="#000"/>'
    tear = '<path id="tear" d="M20 2V38" fill="none" stroke="#000"/>'
    toml = TOML + 'Gluing = "#glue"\nPerforating = "#tear"\n'
    return run(folder, "front\nWilhelmina\n", toml, tints + EDGE + glue + tear)


def close(folder: Path) -> tuple[Finding, ...]:
    from personalize.run import Options
    from personalize.sheet.paper import Paper
    from personalize.sheet.rules import SheetRules

    put(folder, {"guests.csv": "front\nBo\n", "tag.svg": drawing(EDGE)})
    rules = SheetRules(Paper("A4", 210, 297), spacing_mm=0.5)
    table = personalize.read_table(folder / "guests.csv")
    design = personalize.load_design(folder / "tag.svg")
    return personalize.check(table, design, Options(rules)).findings


def drawings(folder: Path) -> tuple[Finding, ...]:
    whole = 'd="M2 2 H58 V38 H2 Z"'
    found = seen('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"/>')
    for path in ("M2 2 H58 V38 H2", "M2 2 L58 38 V2 L2 38 Z", "M2 2 H2.1 V2.1 H2 Z"):
        found += seen(drawing(line(path)))
    twice = f'<path class="c" {whole} fill="none" stroke="#000"/>' * 2
    found += seen(drawing(twice), '[lines]\nCutting = ".c"\n')
    found += seen(drawing(line("M2 2 H58 H58 V38 H2 Z")))
    found += seen(drawing(line("M2 2 H30 V19 H32 V2 H58 V38 H32 V20 H30 V38 H2 Z")))
    found += seen(drawing(line("M2 2 H58 L3 5 Z")))
    hole = '<circle id="hole" cx="30" cy="20" r="0.8" fill="none" stroke="#000"/>'
    found += seen(drawing(EDGE + hole))
    half = '<path class="fold" d="M30 2 V20" fill="none" stroke="#000" '
    found += seen(drawing(EDGE + half + 'stroke-dasharray="2"/>'), FOLDED)
    found += seen(drawing('<image href="http://a.example/b.png"/>' + EDGE))
    found += seen(drawing(line("M2 2 H58 V4 H2 Z")))
    return found + seen(drawing(line("M2 2 H58 V38 H2 V2.5")), "mend = true\n" + TOML)


def text_area(folder: Path) -> tuple[Finding, ...]:
    box = '<rect id="box" x="3" y="3" width="50" height="30" fill="none"/>'
    panel = '[[panel]]\nname = "front"\narea = "#box"\n'
    return run(folder, "front\nAda\n", TOML + panel, EDGE + box)


def choices(folder: Path) -> tuple[Finding, ...]:
    versions = '[[version]]\nname = "plum"\nshow = "#p"\n'
    picture = "[picture]\nbox = [4, 4, 20, 20]\n"
    put(folder, {"note.png": "no picture"})
    from PIL import Image

    Image.new("RGB", (30, 30), "plum").save(folder / "small.png")
    cells = (
        "front,version,text_colour,picture\nAda,mint,,\nBo,,sky,\nIvo,,,none.png\n"
        "Jo,,,note.png\nMia,,,small.png\n"
    )
    layer = '<g id="p"><rect width="60" height="40" fill="#fff"/></g>'
    return run(folder, cells, TOML + versions + picture, layer + EDGE)


def shared(folder: Path) -> tuple[Finding, ...]:
    layers = "".join(f'<rect id="{v}" width="60" height="40"/>' for v in "abc")
    put(folder, {"guests.csv": 'front,version\nAda,c\nBo,"a, b"\n'})
    for name, versions in (("one", "ab"), ("two", "ac")):
        own = "".join(f'[[version]]\nname = "{v}"\nshow = "#{v}"\n' for v in versions)
        put(folder, {f"{name}.svg": drawing(layers + EDGE), f"{name}.toml": TOML + own})
    both = [personalize.load_design(folder / f"{name}.toml") for name in ("one", "two")]
    return personalize.check(personalize.read_table(folder / "guests.csv"), both).findings


def workbook(folder: Path) -> tuple[Finding, ...]:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    rows: list[list[object]] = [["front", "b"], ["Ada", 1], ["#REF!", 1], ["=A2", 1]]
    rows += [[3, 1], [45000, 1], [7, 1], ["hidden", 1], ["Bo", 1], ["", 1], [1, 1]]
    for row in rows:
        sheet.append(row)
    sheet["A3"].data_type = "e"
    sheet["A5"].number_format = "[$-x]foo[?"
    sheet["A6"].number_format = "mm-dd-yy"
    sheet["A7"].number_format = ";;;"
    sheet.row_dimensions[8].hidden = True
    sheet.merge_cells("A9:A10")
    fill = PatternFill("solid", bgColor="FF0000")
    rule = CellIsRule(operator="equal", formula=["1"], fill=fill)
    rule.dxf.numFmt = openpyxl.styles.numbers.NumberFormat(165, "0.0")
    sheet.conditional_formatting.add("A2:A11", rule)
    book.save(folder / "guests.xlsx")
    return run(folder, folder / "guests.xlsx")


def pieces(folder: Path) -> tuple[Finding, ...]:
    near = line("M2 2H30V38H2Z", "one") + line("M31.5 2H58V38H31.5Z", "two")
    strip = line("M62 2H68V38H62Z", "three")
    put(folder, {"kit.svg": drawing(near + strip, 80), "guests.csv": "front\nAda\n"})
    table = personalize.read_table(folder / "guests.csv")
    found = personalize.check(table, personalize.load_designs(folder / "kit.svg")).findings
    put(folder, {"kit.toml": '[[piece]]\nname = "leaf"\nat = [10, 20]\n'})
    named = personalize.load_designs(folder / "kit.toml")
    return found + personalize.check(table, named).findings


def folded(folder: Path) -> tuple[Finding, ...]:
    def made(folds: str, creases: str, *inside: tuple[int, int]) -> tuple[Finding, ...]:
        toml = FOLDED + folds
        for i, at in enumerate(inside):
            toml += f'[[panel]]\nname = "p{i}"\nat = {list(at)}\ntext = "{{front}}"\n'
        drawn = f'<path class="fold" d="{creases}" fill="none" stroke="#000"/>'
        return run(folder, "front\nAda\n", toml, EDGE + drawn)

    strip = "M16 2V38M30 2V38M44 2V38", (9, 20), (23, 20), (37, 20), (51, 20)
    column = "M2 14H58M2 26H58", (30, 8), (30, 20), (30, 32)
    quarters = "M30 2V38M2 20H58", (16, 10), (44, 10), (16, 30), (44, 30)
    found = made("[[crease]]\nangle_deg = 150\n", *strip) + made("[[crease]]\n", *strip)
    found += made("", *column) + made("[[crease]]\nangle_deg = 90\n", *column)
    return found + made("[[crease]]\nangle_deg = 90\n", *quarters)


def artwork(folder: Path) -> tuple[Finding, ...]:
    back = '<rect x="-3" y="-3" width="66" height="46" fill="#f4e3c1"/>'
    dot = '<circle cx="30" cy="20" r="4" fill="#5b2a6e" filter="url(#f)"/>'
    blur = '<filter id="f"><feGaussianBlur stdDeviation="1"/></filter>'
    words = '<text y="20" font-family="Nobody Has It" font-size="4">Plum \u0378</text>'
    cells = "front\nAda\n"
    found = run(folder, cells, TOML, back + blur + dot + words + EDGE)
    found += run(folder, cells, TOML, dot.replace(' filter="url(#f)"', "") + EDGE)
    short = '<rect x="2" y="2" width="56" height="36" fill="#f4e3c1"/>'
    found += run(folder, cells, TOML, short + EDGE)
    found += run(folder, cells, "[artwork]\nextend_edge = true\n" + TOML, short + EDGE)
    photo = f'<image href="{CHECK}" width="20" height="20"/>'
    toml = TOML + '[[version]]\nname = "to colour in"\nline_art = true\n'
    found += run(folder, cells, toml, back + photo + EDGE)
    dots = base64.b64encode(png(Image.new("RGB", (9, 9), "plum"))).decode()
    coarse = f'<image href="data:image/png;base64,{dots}" width="20" height="20"/>'
    found += run(folder, cells, TOML, back + coarse + EDGE)
    return found


def artwork_files(folder: Path) -> tuple[Finding, ...]:
    """A coarse picture over a drawing that is more than lines, and two traced ones."""

    def tag(keys: str) -> tuple[Finding, ...]:
        return run(folder, "front\nAda\n", TOML + keys, EDGE + "<circle r='3'/>")

    deep = Image.fromarray(np.full((80, 120), 60_000, np.uint16))
    soft = deep.resize((400, 266))
    put(folder, {"deep.png": png(deep, None), "soft.png": png(soft, None)})
    at = "[artwork]\nfile = {!r}\nwidth_mm = 60\nat = [0, 0]\n"
    found = tag(at.format("deep.png")) + tag(at.format("soft.png"))
    dots = '<circle cx="20" cy="25" r="18" fill="plum"/><circle cx="47" cy="4" r=".7"/>'
    put(folder, {"cut.png": shape(dots), "l.csv": "front\nAda\n"})
    design = personalize.load_design(folder / "cut.png")
    table = personalize.read_table(folder / "l.csv")
    return found + personalize.check(table, design).findings


def shop(folder: Path) -> tuple[Finding, ...]:
    toml = TOML + '[margins]\nbleed = 1\n[type]\nmax_pt = 8\ncolour = "#2f1338"\n'
    dark = '<rect width="60" height="40" fill="#000"/>'
    pixels = base64.b64encode(png(Image.new("RGB", (40, 40), "plum"))).decode()
    soft = (
        f'<image x="20" y="10" width="9" height="9" href="data:image/png;base64,{pixels}"/>'
    )
    put(folder, {"tag.svg": drawing(dark + soft + EDGE), "tag.toml": toml})
    put(folder, {"guests.csv": "front\nAda\n"})
    table = personalize.read_table(folder / "guests.csv")
    rules = SheetRules(personalize.parse_paper("A4"), mirror=True, face_down=True)
    options = personalize.Options(rules, also=frozenset({"shop", "ganged"}))
    design = personalize.load_design(folder / "tag.toml")
    found = personalize.check(table, design, options).findings
    profile = Profile("press", press_profile(), 4)
    inked = replace(options, profile=profile)
    return found + personalize.check(table, design, inked).findings


def in_the_ink_of_die_lines(folder: Path) -> tuple[Finding, ...]:
    art = page(b"/Own cs 1 scn 20 20 60 40 re f", (60 * 72 / 25.4, 40 * 72 / 25.4))
    art.pages[0].Resources = Dictionary(ColorSpace=Dictionary(Own=spot("Cutting")))
    toml = TOML + '[artwork]\nfile = "art.pdf"\n'
    put(folder, {"tag.svg": drawing(EDGE), "tag.toml": toml, "art.pdf": saved(art)})
    put(folder, {"guests.csv": "front\nAda\n"})
    table = personalize.read_table(folder / "guests.csv")
    options = personalize.Options(also=frozenset({"shop"}))
    design = personalize.load_design(folder / "tag.toml")
    return personalize.check(table, design, options).findings


def labels(folder: Path) -> tuple[Finding, ...]:
    put(folder, {"tag.svg": drawing(EDGE), "tag.toml": TOML, "guests.csv": "front\nAda\n"})
    table = personalize.read_table(folder / "guests.csv")
    design = personalize.load_design(folder / "tag.toml")
    text = "rows = 2\ncolumns = 1\nfirst_mm = [2, 9]\nsize_mm = [60, 40]\n"
    precut = read_precut(text + "pitch_mm = [60, 40]\n", "labels.toml")
    rules = SheetRules(precut.paper, precut=precut, marks=False)
    found = personalize.check(table, design, personalize.Options(rules)).findings
    own = RegisterMark((8, 8), MarkKind.OWN, drawn=(polyline([(3, 8), (9, 8)]),))
    rules = SheetRules(precut.paper, own_marks=(own,), askew=(0.4, -0.3))
    return found + personalize.check(table, design, personalize.Options(rules)).findings


def two_sided(folder: Path) -> tuple[Finding, ...]:
    found = run(folder, "front\nAda\n", TOML + "[back]\n")
    inside = '[[back.panel]]\nname = "front"\nat = [10, 20]\n'
    run(folder, "front,back\nAda,Bo\n", FOLDED + inside, EDGE + FOLD)
    table = personalize.read_table(folder / "guests.csv")
    rules = SheetRules(personalize.parse_paper("A4"), flip=Flip.UPRIGHT)
    design = personalize.load_design(folder / "tag.toml")
    return found + personalize.check(table, design, personalize.Options(rules)).findings


def by_hand(folder: Path) -> tuple[Finding, ...]:
    """A tag with a slit and a perforation, cut folded."""
    lines = EDGE + line("M30 2V38", "fold") + line("M8 8H20", "slit")
    lines += line("M40 10H56", "tear")
    toml = (
        '[lines]\nCutting = ["#edge", "#slit"]\nCreasing = "#fold"\nPerforating = "#tear"\n'
    )
    put(
        folder,
        {"tag.svg": drawing(lines), "tag.toml": toml, "guests.csv": "front,back\nA,B\n"},
    )
    rules = SheetRules(
        personalize.parse_paper("A4"), by_hand=ByHand.FOLD_FIRST, marks=False
    )
    design = personalize.load_design(folder / "tag.toml")
    table = personalize.read_table(folder / "guests.csv")
    backed = SheetRules(personalize.parse_paper("A4"), backing_mm=2.0)
    close = replace(rules, by_hand=ByHand.SCISSORS, spacing_mm=0.0)
    return tuple(
        finding
        for asked in (rules, backed, close)
        for finding in personalize.check(table, design, personalize.Options(asked)).findings
    )


def since(folder: Path) -> tuple[Finding, ...]:
    def text(words: str, size_pt: float = 20.0) -> dict[str, object]:
        return {
            "panel": "front",
            "block": None,
            "text": words,
            "lines": [words],
            "font": "Nunito Bold",
            "size_pt": size_pt,
            "turn_deg": 0.0,
            "colour": "#000000",
            "rim": None,
        }

    def piece(row: int, words: str, size_pt: float = 20.0) -> dict[str, object]:
        place = {"row": row, "copy": 1, "design": "tag", "version": "", "picture": None}
        return {**place, "texts": [text(words, size_pt)]}

    old = [piece(2, "Ada"), piece(3, "Eve"), piece(4, "Flo")]
    new = [piece(2, "Bo"), piece(3, "Eve", 24.0), piece(5, "Gil")]
    return changes_as_findings(earlier_pieces(old), earlier_pieces(new))


def by_guest(folder: Path) -> tuple[Finding, ...]:
    """One row in two designs, which share a sheet."""
    put(folder, {"guests.csv": "front\nAda\n", "tag.svg": drawing(EDGE)})
    tag = personalize.load_design(folder / "tag.svg")
    designs = [replace(tag, name=name) for name in ("tag", "label")]
    table = personalize.read_table(folder / "guests.csv")
    return personalize.check(table, designs, personalize.Options(rows="2")).findings


SCENES: tuple[Callable[[Path], tuple[Finding, ...]], ...] = (
    *(
        words,
        sizes,
        lists,
        ring,
        print_look,
        glued_and_torn,
        close,
        drawings,
        text_area,
        choices,
        shared,
        workbook,
        pieces,
        artwork,
        artwork_files,
        folded,
        shop,
        in_the_ink_of_die_lines,
        labels,
        two_sided,
        by_hand,
        by_guest,
        since,
    ),
)
