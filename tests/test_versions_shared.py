"""One column of versions for several designs, and how the proof filters by them."""

import json
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

import personalize
from personalize.checks.kept import read_pieces
from personalize.finding import Finding
from personalize.messages.same import names_in
from tests.conftest import EDGE, command, drawing, put

TOML = 'name = "{name}"\n[lines]\nCutting = "#edge"\n[[panel]]\nname = "name"\n'
VERSION = '[[version]]\nname = "{0}"\nshow = "#{0}"\n'
GROUND = '<rect id="{}" x="-3" y="-3" width="66" height="46" fill="{}"/>'
COLOURS = {"plum": "#e2c8e8", "mint": "#c8ecd4", "kraft": "#e8d8b8", "white": "#fdfdfd"}


def design(folder: Path, name: str, *versions: str) -> Path:
    """Write a design with versions, each a layer of its drawing."""
    layers = "".join(GROUND.format(one, COLOURS[one]) for one in versions)
    toml = TOML.format(name=name) + "".join(VERSION.format(one) for one in versions)
    put(folder, {f"{name}.svg": drawing(layers + EDGE), f"{name}.toml": toml})
    return folder / f"{name}.toml"


@pytest.fixture(scope="module")
def designs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("designs")
    return {
        "Flag": design(folder, "Flag", "plum", "mint"),
        "Tag": design(folder, "Tag", "kraft", "white"),
        "Lid": design(folder, "Lid", "plum", "white"),
        "Plain": design(folder, "Plain"),
    }


def check(rows: str, *paths: Path) -> list[Finding]:
    """What is found of versions."""
    cells = rows.split("\n")
    table = personalize.Table(
        personalize.Source("list"),
        ("name", "version"),
        tuple(personalize.Row(i, ("Io", cell)) for i, cell in enumerate(cells, 2)),
    )
    found = personalize.check(table, [personalize.load_design(path) for path in paths])
    return [f for f in found.findings if "version" in f.rule]


@pytest.fixture(scope="module")
def made(
    designs: dict[str, Path], tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("run")
    cells = '"mint, kraft"', "white", "", "plum", "WHITE; Mint"
    rows = "".join(f"Guest {i},{cell}\n" for i, cell in enumerate(cells, 2))
    put(folder, {"list.csv": "name,version\n" + rows})
    flags = [f for name in ("Flag", "Tag", "Plain") for f in ("--design", designs[name])]
    done = command("make", folder / "list.csv", *flags, "--out", folder / "out")
    assert done.exit_code == 0, done.output
    return folder / "out", folder / "list.csv"


def test_each_design_takes_the_name_that_is_its_own(made: tuple[Path, Path]) -> None:
    wanted = {2: ("mint", "kraft"), 3: ("plum", "white"), 4: ("plum", "kraft")}
    wanted |= {5: ("plum", "kraft"), 6: ("mint", "white")}
    printed = {(p.design, p.row): p.version for p in read_pieces(made[0] / "print.pdf")}
    for row, (flag, tag) in wanted.items():
        own = [printed[name, row] for name in ("Flag", "Tag", "Plain")]
        assert own == [flag, tag, ""]


def test_what_only_others_have_is_told_once_for_a_design(made: tuple[Path, Path]) -> None:
    report = json.loads((made[0] / "report.json").read_text("utf-8"))
    told = [f for f in report["findings"] if f["rule"] == "other-version"]
    assert {(f["design"], f["severity"], f["row"]) for f in told} == {
        ("Flag", "note", None),
        ("Tag", "note", None),
    }
    assert any("Flag has no version 'white' (row 3): Tag has." in f["says"] for f in told)


def test_a_name_that_alike_designs_should_share_is_a_warning(
    designs: dict[str, Path],
) -> None:
    found = check("plum\nmint\nmint", designs["Flag"], designs["Lid"])
    assert [(f.rule, f.severity, f.design) for f in found] == [
        ("other-version", "warning", "Lid")
    ]
    assert found[0].figures == {"rows": 2}
    assert "(rows 3-4)" in found[0].says


def test_what_no_design_has_is_one_error_of_the_row(designs: dict[str, Path]) -> None:
    found = check("plum, krafd\nplum", designs["Flag"], designs["Tag"])
    errors = [f for f in found if f.severity == "error"]
    assert [(f.rule, f.row, f.design) for f in errors] == [("unknown-version", 2, None)]
    assert errors[0].says == "No design of this run has a version 'krafd'."
    assert errors[0].do == "Did you mean 'kraft'?"


def test_two_versions_of_one_design_are_refused(designs: dict[str, Path]) -> None:
    (found,) = check("plum, mint", designs["Flag"])
    assert (found.rule, found.severity, found.row) == ("two-versions", "error", 2)


def test_a_comma_in_a_name_is_part_of_it(tmp_path: Path) -> None:
    path = design(tmp_path, "Flag", "plum", "mint")
    text = path.read_text("utf-8").replace('name = "mint"', 'name = "plum, mint"')
    path.write_text(text, "utf-8")
    loaded = personalize.load_design(path)
    assert [v.name for v in loaded.named("Plum, Mint")] == ["plum, mint"]
    assert check("plum, mint", path) == []
    assert names_in("plum, mint;; ") == ("plum", "mint")


def shown(page: Page) -> list[tuple[int, str]]:
    """Row and design of the pieces that can be seen."""
    cards = page.locator(".piece:visible").all()
    names = {"d0": "Flag", "d1": "Tag", "d2": "Plain"}
    return sorted(
        (int(c.get_attribute("data-row")), names[c.get_attribute("data-design")])
        for c in cards
    )


def test_the_proof_filters_by_version_and_design(
    browser: Browser, made: tuple[Path, Path]
) -> None:
    page = browser.new_page()
    page.goto((made[0] / "proof.html").as_uri())
    told = page.locator("[name=told]")
    expect(told).to_have_text("all 15 shown")
    choices = page.locator("[name=version] option:not([hidden])")
    expect(choices).to_have_text(
        ["all", "mint (Flag)", "plum (Flag)", "kraft (Tag)", "white (Tag)"]
    )
    for version, wanted in (
        ("mint", [(2, "Flag"), (6, "Flag")]),
        ("kraft", [(2, "Tag"), (4, "Tag"), (5, "Tag")]),
    ):
        page.select_option("[name=version]", version)
        expect(told).to_have_text(f"{len(wanted)} of 15 shown")
        assert shown(page) == wanted
    page.select_option("[name=design]", "d0")
    expect(choices).to_have_text(["all", "mint (Flag)", "plum (Flag)"])
    expect(page.locator("[name=version]")).to_have_value("")
    expect(told).to_have_text("5 of 15 shown")
    page.locator("#find [type=reset]").click()
    expect(choices).to_have_count(5)
    page.close()


def test_a_back_has_the_version_of_its_front_and_says_nothing_twice(tmp_path: Path) -> None:
    path = design(tmp_path, "Flag", "plum", "mint")
    layers = "".join(GROUND.format(one, COLOURS[one]) for one in ("plum", "mint"))
    put(tmp_path, {"back.svg": drawing(layers + EDGE)})
    back = '[back]\nsvg = "back.svg"\n' + VERSION.replace("[version]", "[back.version]")
    told = path.read_text("utf-8") + back.format("plum")
    told += VERSION.replace("[version]", "[back.version]").format("mint")
    path.write_text(told, "utf-8")
    other = design(tmp_path, "Tag", "kraft", "white")
    assert personalize.load_design(path).back is not None
    cells = 'name,version\nIo,kraft\nBo,mnt\nAda,"plum, mint"\n'
    put(tmp_path, {"list.csv": cells})
    flags = ("--two-sided", "upright", "--design", path, "--design", other, "--json")
    done = command("check", tmp_path / "list.csv", *flags)
    found = json.loads(done.stdout)["findings"]
    said = [(f["rule"], f["design"]) for f in found if "version" in f["rule"]]
    assert sorted(said, key=str) == [
        ("other-version", "Flag"),
        ("other-version", "Tag"),
        ("two-versions", "Flag"),
        ("unknown-version", None),
    ]
