"""proof.html in a real browser: opened from disk, used, looked at and printed."""

import io
import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, Page

import personalize
from personalize.design.design import CUT_SHIFT_MM
from tests.outside import Pdfium
from tests.test_proof import cut, grown

DESK, PHONE = (1280, 900), (390, 844)
VIEWS = ("pieces", "drift", "sheets", "sizes")


class Shown:
    """A proof open in a browser, with all that the browser said."""

    def __init__(self, browser: Browser, folder: Path, **options: object) -> None:
        size = options.pop("size", DESK)
        self.context = browser.new_context(
            viewport={"width": size[0], "height": size[1]}, **options
        )
        self.page: Page = self.context.new_page()
        self.said: list[str] = []
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("request", lambda request: self.said.append(request.url))
        self.page.goto((folder / "proof.html").as_uri())
        # Its own address, and pictures that are part of it.
        self.said = [s for s in self.said if not s.startswith(("file:", "data:"))]

    def rows(self) -> list[int]:
        """Rows of the pieces that can be seen."""
        cards = self.page.locator(".piece:visible")
        return [int(card.get_attribute("data-row")) for card in cards.all()]


@pytest.fixture
def shown(browser: Browser, made: Path) -> Iterator[Shown]:
    found = Shown(browser, made)
    yield found
    assert found.said == []
    found.context.close()


@pytest.fixture(scope="module")
def sheets(made: Path) -> dict[int, set[int]]:
    """Sheets of each row, by the report."""
    report = json.loads((made / "report.json").read_text("utf-8"))
    found: dict[int, set[int]] = {}
    for piece in report["pieces"]:
        if piece["row"] is not None:
            found.setdefault(piece["row"], set()).add(piece["sheet"])
    return found


def test_each_view_is_shown_alone(shown: Shown) -> None:
    for name in VIEWS:
        shown.page.locator(f'nav a[href="#{name}"]').click()
        # A browser tells of the other address a moment after the click.
        shown.page.locator(f'nav a[href="#{name}"][aria-current]').wait_for()
        seen = [view for view in VIEWS if shown.page.locator(f"#{view}").is_visible()]
        assert seen == [name]
        assert shown.page.locator("nav [aria-current]").count() == 1


def test_without_its_script_everything_is_there(browser: Browser, made: Path) -> None:
    shown = Shown(browser, made, java_script_enabled=False)
    for name in VIEWS:
        assert shown.page.locator(f"#{name}").is_visible()
    report = json.loads((made / "report.json").read_text("utf-8"))
    assert shown.page.locator(".sheet").count() == len(report["sheets"])
    assert not shown.page.locator("#find").is_visible()
    shown.context.close()


def test_pieces_are_found_by_their_words_and_rows(shown: Shown, made: Path) -> None:
    every = shown.rows()
    words = shown.page.locator("[name=words]")
    told = shown.page.locator("[name=told]")
    words.fill("zoe TAMBLYN")  # neither accents nor capitals matter
    assert shown.rows() == [7, 8]  # composed and decomposed
    assert told.inner_text() == f"2 of {len(every)} shown"
    words.fill("3, 5-7")
    assert shown.rows() == [3, 5, 6, 7]
    words.fill("nobody at all")
    assert shown.rows() == []
    shown.page.locator("#find [type=reset]").click()
    assert shown.rows() == every
    assert told.inner_text() == f"all {len(every)} shown"


def test_pieces_are_filtered_by_their_findings(shown: Shown, made: Path) -> None:
    findings = json.loads((made / "report.json").read_text("utf-8"))["findings"]
    for rule in {f["rule"] for f in findings if f["row"] is not None}:
        shown.page.select_option("[name=rule]", rule)
        rows = {f["row"] for f in findings if f["rule"] == rule}
        assert set(shown.rows()) == rows


def test_a_row_that_is_filtered_out_is_shown_when_a_link_leads_to_it(shown: Shown) -> None:
    shown.page.locator("[name=words]").fill("3")
    shown.page.evaluate("location.hash = '#row-9'")
    shown.page.locator("#row-9").wait_for(state="visible")
    assert len(shown.rows()) > 1
    # Shown before the page is scrolled to it, or the link would lead nowhere.
    shown.page.wait_for_function(
        "() => Math.abs(document.querySelector('#row-9').getBoundingClientRect().top) < 200"
    )


def test_a_piece_leads_to_its_sheet_and_back(
    shown: Shown, sheets: dict[int, set[int]]
) -> None:
    for row in (9, 30):
        link = shown.page.locator(f"#row-{row} header a").first
        number = int(link.text_content().split()[-1])
        assert number in sheets[row]
        link.click()
        sheet = shown.page.locator(f"#sheet-{number}")
        sheet.wait_for(state="visible")
        sheet.locator(f'figcaption a[href="#row-{row}"]').click()
        shown.page.locator(f"#row-{row}").wait_for(state="visible")


def test_every_row_is_on_its_sheets_only(shown: Shown, sheets: dict[int, set[int]]) -> None:
    shown.page.locator('nav a[href="#sheets"]').click()
    found: dict[int, set[int]] = {}
    for sheet in shown.page.locator(".sheet").all():
        number = int(sheet.get_attribute("id").removeprefix("sheet-"))
        for link in sheet.locator("figcaption a").all():
            found.setdefault(int(link.text_content()), set()).add(number)
    assert found == sheets


@pytest.mark.parametrize("kind", ["Cutting", "Creasing", "zone"])
def test_lines_can_be_hidden(shown: Shown, kind: str) -> None:
    flat = shown.page.locator("#row-3 .d0-flat svg")
    before = flat.screenshot()
    shown.page.locator(f"#see-{kind}").uncheck()
    after = flat.screenshot()
    changed = (np.abs(pixels(before) - pixels(after)) > 8).any(axis=2)
    assert 50 < changed.sum() < 0.2 * changed.size
    shown.page.locator(f"#see-{kind}").check()
    assert np.abs(pixels(flat.screenshot()) - pixels(before)).max() <= 8


def test_the_cut_drifts_by_the_distance_that_is_told(shown: Shown) -> None:
    ask = """() => {
      const at = (s) => document.querySelector(s).getScreenCTM();
      const [line, print] = [at("#row-3 use.die"), at("#row-3 .d0-flat g[id]")];
      const [cut, kept] = [at("#row-3 .d0-face-0 .die"), at("#row-3 .d0-face-0 .print")];
      return [[line, print], [cut, kept]].map(
        ([moved, still]) => [(moved.e - still.e) / still.a, (moved.f - still.f) / still.d]);
    }"""
    for key, way in (("n", (0, 1)), ("e", (1, 0)), ("sw", (-(0.5**0.5), -(0.5**0.5)))):
        shown.page.locator(f"#way-{key}").check()
        for moved in shown.page.evaluate(ask):
            wanted = [CUT_SHIFT_MM * part for part in way]
            assert moved == pytest.approx(wanted, abs=1e-3)
    shown.page.locator("#way-o").check()
    assert shown.page.evaluate(ask) == [[0, 0], [0, 0]]


def test_a_closer_look_folds_the_piece(browser: Browser, made: Path) -> None:
    shown = Shown(browser, made, reduced_motion="reduce")
    page = shown.page
    page.locator("#row-3 [data-do=look]").click()
    assert page.locator("#closer h2").inner_text() == "Row 3 Bo / Table 4"
    slider = page.locator("#closer input")
    page.wait_for_timeout(300)
    assert slider.input_value() == "0"  # nothing moves by itself
    assert page.locator("#closer .behind").count() == 0
    most = float(slider.get_attribute("max"))
    nearest = page.locator("#closer .leaf").last
    seen = []
    for share in (0.5, 1.0):
        slider.fill(str(share * most))
        assert page.locator("#closer .behind").count() == 1
        assert "behind" not in nearest.get_attribute("class")
        seen.append(nearest.get_attribute("data-nth"))
    assert seen[0] != seen[1]  # the front, then the back
    page.keyboard.press("Escape")
    assert not page.locator("#closer").is_visible()
    assert shown.said == []
    shown.context.close()


def test_folding_plays_and_ends(shown: Shown) -> None:
    page = shown.page
    page.locator("#row-3 [data-do=look]").click()
    slider = page.locator("#closer input")
    until(page, "document.querySelector('#closer input').value > 1")
    slider.fill("46")
    page.locator("[data-do=play]").click()
    until(page, "(i => i.value === i.max)(document.querySelector('#closer input'))")


def test_the_number_of_a_row_is_copied(browser: Browser, made: Path) -> None:
    shown = Shown(browser, made, permissions=["clipboard-read", "clipboard-write"])
    button = shown.page.locator("#row-9 [data-do=copy]")
    button.click()
    asked = "document.querySelector('#row-9 [data-do=copy]').textContent"
    until(shown.page, f"{asked} === 'Copied 9'")
    assert shown.page.evaluate("navigator.clipboard.readText()") == "9"
    shown.context.close()


def until(page: Page, so: str) -> None:
    """Wait until something holds. (The page forbids what Playwright waits with.)"""
    for _ in range(100):
        if page.evaluate(so):
            return
        page.wait_for_timeout(50)
    raise AssertionError(so)


NAMES = (
    '<svg onload="document.title=7">',
    "</script><b>O'Neil",
    "</noscript><img src=x onerror=document.title=7>",
    '" onfocus="document.title=7',
    "Basil & Dill &lt;3",
)


def test_names_that_are_markup_are_shown_as_letters(
    browser: Browser, tmp_path: Path
) -> None:
    rows = tuple(personalize.Row(i, (name,)) for i, name in enumerate(NAMES, 2))
    table = personalize.Table(personalize.Source("<i>list</i>.csv"), ("dish",), rows)
    result = personalize.make(table, personalize.load_design("jar-lid"), tmp_path / "out")
    shown = Shown(browser, result.folder)
    page = shown.page
    for row, name in enumerate(NAMES, 2):
        said = page.locator(f"#row-{row} h3 bdi").text_content()
        assert said.split(" / Plum Lane")[0] == name
        page.locator(f"#row-{row} [data-do=look]").click()
        assert name in page.locator("#closer h2").text_content()
        page.keyboard.press("Escape")
    for name in VIEWS[1:]:
        link = page.locator(f'nav a[href="#{name}"]')
        if link.count():
            link.click()
    assert page.locator("[onload], [onerror], [onfocus], main b > b, i > i").count() == 0
    assert page.locator("img").count() == 0
    assert page.title() == "Proof: Jar lid"
    assert shown.said == []
    shown.context.close()


@pytest.mark.parametrize(("scheme", "size"), [("light", DESK), ("dark", PHONE)])
def test_no_rule_of_accessibility_is_broken(
    browser: Browser, made: Path, scheme: str, size: tuple[int, int]
) -> None:
    # axe-core's rules for WCAG 2.2, levels A and AA, and its best practices.
    shown = Shown(browser, made, color_scheme=scheme, size=size, reduced_motion="reduce")
    shown.page.locator("details.tools").evaluate("e => e.open = true")
    shown.page.locator("[name=words]").fill("2-6")
    for name in VIEWS:
        shown.page.locator(f'nav a[href="#{name}"]').click()
        assert faults(shown.page) == [], name
    shown.page.locator('nav a[href="#pieces"]').click()
    shown.page.locator("#row-3 [data-do=look]").click()
    assert faults(shown.page) == []
    shown.context.close()


def faults(page: Page) -> list[tuple[str, str]]:
    found = Axe().run(page).response["violations"]
    return [(one["id"], one["nodes"][0]["html"][:120]) for one in found]


def test_nothing_sticks_out_on_a_phone(browser: Browser, made: Path) -> None:
    shown = Shown(browser, made, size=PHONE)
    for name in VIEWS:
        shown.page.locator(f'nav a[href="#{name}"]').click()
        assert shown.page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]
    shown.context.close()


def test_it_prints_every_piece_and_no_controls(shown: Shown) -> None:
    pdf = pypdfium2.PdfDocument(shown.page.pdf(prefer_css_page_size=True))
    text = "".join(page.get_textpage().get_text_range() for page in pdf)
    for row in shown.rows():
        assert f"Row {row} " in text
    for control in ("Look closer", "Copy row", "Show all", "Cut drift"):
        assert control not in text
    pdf.close()


def test_a_sheet_is_what_is_printed(browser: Browser, made: Path) -> None:
    # The browser's picture of a sheet beside pdfium's of print.pdf: dark ink of the words
    # must cover the same spots, but for a pixel round them.
    report = json.loads((made / "report.json").read_text("utf-8"))
    shown = Shown(browser, made, size=(840, 1188), device_scale_factor=2)
    shown.page.locator('nav a[href="#sheets"]').click()
    shown.page.evaluate(ALONE)
    proofed, px_per_mm = pixels(shown.page.screenshot()), 8.0
    printed = Pdfium(made / "print.pdf").picture(2, px_per_mm)
    compared = 0
    for piece in report["pieces"]:
        for text in piece["texts"] if piece["sheet"] == 2 else ():
            x0, y0, x1, y1 = text["ink_mm"]
            box = [x0 - 1, 297 - y1 - 1, x1 + 1, 297 - y0 + 1]
            a, b = (cut(p, box).max(axis=2) < 100 for p in (printed, proofed))
            h, w = (min(p, q) for p, q in zip(a.shape, b.shape, strict=True))
            a, b = a[:h, :w], b[:h, :w]
            assert a.any()
            stray = (a & ~grown(b, 1)) | (b & ~grown(a, 1))
            assert stray.sum() <= 0.02 * a.sum(), text["text"]
            compared += 1
    assert compared == 12
    shown.context.close()


ALONE = """() => {
  const sheet = document.querySelector("#sheet-2 svg");
  document.body.append(sheet);
  Object.assign(sheet.style, {position: "fixed", inset: 0, width: "840px", zIndex: 9});
}"""
"""Puts the second sheet over all else, four pixels of the page to a millimetre."""


def pixels(png: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(png)) as opened:
        return np.asarray(opened.convert("RGB")).astype(int)
