"""Take one page out of a PDF file that nobody vouches for, in a process of its own.

What is left is a PDF of one form (ISO 32000-1, 8.10): what the page paints, and what that
needs. Scripts, notes, form fields, links, tags, attached files, layers that are switched
off and all of the file round the page stay behind, and are told. Standard input: one line
of JSON, then the file. Standard output: one line of JSON, then the PDF. Exit code
`REFUSED` with what is wrong and what to do, as JSON on standard error.
"""

import io
import json
import sys
from collections.abc import Callable, Iterator
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

REFUSED = 4
MOST_OBJECTS = 200_000
_BOXES = {box: f"/{box.title()}Box" for box in ("media", "crop", "bleed", "trim")}
_SAVE_ANEW = "Save it anew as PDF."
_PAINTING = frozenset({"S", "s", "f", "F", "f*", "B", "B*", "b", "b*"})
_NEXT_LINE = frozenset({"'", '"'})
_SHOWING = frozenset({"Tj", "TJ", "Do", "sh", "INLINE IMAGE"})
_UNUSED = {
    *("/Metadata", "/PieceInfo", "/StructParent", "/StructParents", "/OPI", "/Ref"),
    *("/Alternates", "/LastModified", "/OC", "/AA"),
}
"""Keys of streams that lead away from what is painted."""
_FONT_FILES = ("/FontFile", "/FontFile2", "/FontFile3")


class RefusedError(Exception):
    """The page cannot be used: what is wrong, and what to do."""


def main() -> int:
    """Take the page that standard input asks for."""
    task = json.loads(sys.stdin.buffer.readline())
    data = sys.stdin.buffer.read()
    try:
        _limit_memory()
        facts, made = taken(data, task["page"])
    except RefusedError as refused:
        sys.stderr.write(json.dumps(refused.args))
        return REFUSED
    except Exception as error:  # of whatever kind: the file is at fault
        # Only the library's own words say what is wrong with the file.
        why = str(error) if isinstance(error, pikepdf.PdfError) else ""
        why = " ".join(why.split())[:200]
        says = f"it is damaged ({why.rstrip('.')})." if why else "it is damaged."
        sys.stderr.write(json.dumps([says, _SAVE_ANEW]))
        return REFUSED
    sys.stdout.buffer.write(json.dumps(facts).encode() + b"\n" + made)
    sys.stdout.buffer.flush()
    return 0


def taken(data: bytes, number: int) -> tuple[Any, bytes]:
    """Give the facts of a page (from 1) and a PDF of one form of what it paints.

    The form is /Page in the resources of that PDF's only page. Raises RefusedError, or
    whatever a damaged file makes the library raise.
    """
    source = _opened(data)
    count = len(source.pages)
    if not 1 <= number <= count:
        pages = "1 page" if count == 1 else f"{count} pages"
        do = "Name another page." if count else _SAVE_ANEW
        raise RefusedError(f"it has {pages}, and no page {number}.", do)
    page = source.pages[number - 1]
    facts: dict[str, Any] = {
        "count": count,
        "boxes": _boxes(page),
        "rotate": int(_inherited(page.obj, "/Rotate") or 0) % 360,
        "user_unit": float(page.obj.get("/UserUnit", 1)),
    }
    layers = _Layers(source)
    told = list(_round_it(source, page))
    form = page.as_form_xobject(handle_transformations=False)
    _Cleaner(source, layers).clean(form)
    with pikepdf.new() as out:
        holder = out.add_blank_page(page_size=(100, 100))
        holder.Resources = Dictionary(XObject=Dictionary(Page=out.copy_foreign(form)))
        made = io.BytesIO()
        out.save(made, static_id=True)
    facts["told"] = told + layers.told()
    return facts, made.getvalue()


def _limit_memory() -> None:
    if sys.platform == "win32":
        return
    import resource

    _, most = resource.getrlimit(resource.RLIMIT_AS)
    bound = 4 * 1024**3
    try:
        resource.setrlimit(
            resource.RLIMIT_AS, (bound if most < 0 else min(bound, most), most)
        )
    except (ValueError, OSError):
        return


def _opened(data: bytes) -> Any:
    try:
        source = pikepdf.open(io.BytesIO(data), suppress_warnings=True)
    except pikepdf.PasswordError:
        source = None
    if source is None or source.is_encrypted:
        says = "it is locked by a password."
        raise RefusedError(says, "Save it without a password.")
    return source


def _inherited(page: Any, key: str) -> Any:
    """Find an entry of a page or of what it hangs on (ISO 32000-1, 7.7.3.4)."""
    for _ in range(50):
        if page is None:
            return None
        if key in page:
            return page[key]
        page = page.get("/Parent")
    return None


def _boxes(page: Any) -> dict[str, list[float]]:
    """Give the boxes of a page in its own units (ISO 32000-1, 14.11.2)."""
    out: dict[str, list[float]] = {}
    for name, key in _BOXES.items():
        # Crop falls back on media, the others on crop.
        usual = out.get("crop") or out.get("media")
        inherits = name in ("media", "crop")
        told = _inherited(page.obj, key) if inherits else page.obj.get(key)
        if told is None:
            if usual is None:
                raise RefusedError("its page has no size.", _SAVE_ANEW)
            out[name] = list(usual)
            continue
        x0, y0, x1, y1 = (float(v) for v in told)
        box = [min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)]
        if name != "media":  # none reaches past the media box
            media = out["media"]
            box = [max(a, b) for a, b in zip(box[:2], media[:2], strict=True)] + [
                min(a, b) for a, b in zip(box[2:], media[2:], strict=True)
            ]
        out[name] = box
    return out


def _round_it(source: Any, page: Any) -> Iterator[str]:
    """Tell what of the file and of the page is no picture."""
    root = source.Root
    names = root.get("/Names", Dictionary())
    starts = {"/OpenAction", "/AA"} & {*root.keys(), *page.obj.keys()}
    if starts or "/JavaScript" in names:
        yield "scripts and actions"
    if "/EmbeddedFiles" in names:
        yield "attached files"
    if "/OutputIntents" in root:
        yield "the press that its colours are meant for (its output intent)"
    kinds = [str(one.get("/Subtype", "")) for one in page.obj.get("/Annots", [])]
    fields, links = kinds.count("/Widget"), kinds.count("/Link")
    notes = len(kinds) - fields - links
    stamps = (notes, "a note or stamp", "notes and stamps")
    forms = (fields, "a form field", "form fields")
    for many, one, more in (stamps, forms, (links, "a link", "links")):
        if many:
            yield one if many == 1 else f"{many} {more}"


class _Layers:
    """Which optional content a printed page shows (ISO 32000-1, 8.11)."""

    def __init__(self, source: Any) -> None:
        known = source.Root.get("/OCProperties", Dictionary())
        usual = known.get("/D", Dictionary())
        off = str(usual.get("/BaseState", "/ON")) == "/OFF"
        self._off = {g.objgen for g in known.get("/OCGs", [])} if off else set()
        self._off -= {g.objgen for g in usual.get("/ON", [])}
        self._off |= {g.objgen for g in usual.get("/OFF", [])}
        for event in usual.get("/AS", []):
            if str(event.get("/Event", "")) != "/Print":
                continue
            for group in event.get("/OCGs", []):
                use = group.get("/Usage", Dictionary()).get("/Print", Dictionary())
                state = str(use.get("/PrintState", ""))
                if state == "/OFF":
                    self._off.add(group.objgen)
                elif state == "/ON":
                    self._off.discard(group.objgen)
        # Die lines and varnish (ISO 19593-1) are no ink, whether or not they are seen.
        self._steps = {g.objgen for g in known.get("/OCGs", []) if _is_step(g)}
        self._off |= self._steps
        self._hidden: dict[str, str] = {}

    def shown(self, member: Any, depth: int = 0) -> bool:
        """Whether content of a group, or of a rule about groups, is shown."""
        if not isinstance(member, pikepdf.Object) or depth > 30:
            return True
        if isinstance(member, Array):
            return self._expression(member, depth)
        if str(member.get("/Type", "")) != "/OCMD":
            is_shown = member.objgen not in self._off
            if not is_shown:
                step = "is a processing step" if member.objgen in self._steps else ""
                self._hidden[str(member.get("/Name", ""))] = step or "is switched off"
            return is_shown
        if "/VE" in member:
            return self._expression(member["/VE"], depth)
        groups = member.get("/OCGs")
        if groups is None:
            return True
        listed = list(groups) if isinstance(groups, Array) else [groups]
        states = [self.shown(group, depth + 1) for group in listed]
        rule: Callable[[list[bool]], bool] = {
            "/AllOn": all,
            "/AnyOff": lambda on: not all(on),
            "/AllOff": lambda on: not any(on),
        }.get(str(member.get("/P", "/AnyOn")), any)
        return rule(states) if states else True

    def _expression(self, told: Any, depth: int) -> bool:
        how, *rest = list(told)
        states = [self.shown(one, depth + 1) for one in rest]
        if str(how) == "/Not":
            return not states[0]
        return all(states) if str(how) == "/And" else any(states)

    def told(self) -> list[str]:
        """Tell the layers that are left out."""
        return [f"the layer {name!r}, which {why}" for name, why in self._hidden.items()]


def _is_step(group: Any) -> bool:
    """Whether a layer is a processing step (ISO 19593-1), such as cutting."""
    told = group.get("/GTS_Metadata", Dictionary())
    return isinstance(told, Dictionary) and "/GTS_ProcStepsGroup" in told


class _Cleaner:
    """Leaves nothing in a form but what it paints."""

    def __init__(self, pdf: Any, layers: _Layers) -> None:
        self._pdf, self._layers = pdf, layers
        self._done: set[tuple[int, int]] = set()
        self._fonts: dict[str, None] = {}
        self._unused: list[tuple[Any, str]] = []
        """Dictionaries of resources, with what nothing that is left may name."""

    def clean(self, form: Any) -> None:
        """Clean a form and all that it draws. Raises RefusedError."""
        todo: list[tuple[Any, Any]] = [(form, form.get("/Resources", Dictionary()))]
        while todo:
            stream, around = todo.pop()
            # A form may go without, and mean those of its page (ISO 32000-1, table 95).
            stream.Resources = resources = stream.get("/Resources", around)
            self._content(stream, resources)
            for inner in self._drawn(resources):
                todo.append((inner, resources))
        for held, name in self._unused:  # only now: streams may share a dictionary
            if name in held:
                del held[name]
        if self._fonts:
            named = ", ".join(list(self._fonts)[:5])
            raise RefusedError(
                f"the font {named} is not in the file.",
                "Save it with its fonts embedded, or with words turned to curves.",
            )
        self._strip(form)

    def _drawn(self, resources: Any) -> Iterator[Any]:
        """Find streams of operators that a resource dictionary leads to, once each."""
        for one in resources.get("/XObject", Dictionary()).values():
            is_form = one.get("/Subtype") == Name.Form and self._is_shown(one)
            if is_form and self._is_new(one):
                yield one
        patterns = resources.get("/Pattern", Dictionary()).values()
        yield from (p for p in patterns if isinstance(p, Stream) and self._is_new(p))
        for state in resources.get("/ExtGState", Dictionary()).values():
            mask = state.get("/SMask")
            if isinstance(mask, Dictionary) and "/G" in mask and self._is_new(mask["/G"]):
                yield mask["/G"]
        for font in resources.get("/Font", Dictionary()).values():
            if str(font.get("/Subtype", "")) == "/Type3":
                yield from self._glyphs(font)

    def _glyphs(self, font: Any) -> Iterator[Any]:
        for glyph in font.get("/CharProcs", Dictionary()).values():
            if self._is_new(glyph):
                if "/Resources" in font:
                    glyph.Resources = font["/Resources"]
                yield glyph

    def _is_new(self, stream: Any) -> bool:
        if stream.objgen in self._done:
            return False
        self._done.add(stream.objgen)
        return True

    def _content(self, stream: Any, resources: Any) -> None:
        """Take marks, and what is switched off, out of a stream of operators."""
        drawn = resources.get("/XObject", Dictionary())
        off = {name for name, one in drawn.items() if not self._is_shown(one)}
        loose = dict(self._loose(resources))
        data = stream.read_bytes()
        if not (off or loose or any(m in data for m in (b"BDC", b"BMC", b"MP", b"DP"))):
            return
        used: set[str] = set()
        kept = list(self._kept(stream, resources, off, used))
        self._fonts |= {loose[name]: None for name in sorted(used & loose.keys())}
        stream.write(pikepdf.unparse_content_stream(kept))
        self._unused += [(drawn, name) for name in off]
        self._unused += [(resources["/Font"], name) for name in loose]

    def _is_shown(self, drawn: Any) -> bool:
        if str(drawn.get("/Subtype", "")) not in ("/Form", "/Image"):
            return False
        return "/OC" not in drawn or self._layers.shown(drawn["/OC"])

    def _kept(
        self, stream: Any, resources: Any, off: set[str], used: set[str]
    ) -> Iterator[Any]:
        """Give the operators that stay; hidden ones still move and set colours."""
        groups = resources.get("/Properties", Dictionary())
        marks: list[bool] = []
        for one in pikepdf.parse_content_stream(stream):
            name = str(one.operator)
            if name in ("BMC", "BDC"):
                told = one.operands[1] if len(one.operands) > 1 else None
                layer = name == "BDC" and str(one.operands[0]) == "/OC"
                member = groups.get(str(told)) if isinstance(told, Name) else told
                marks.append(layer and not self._layers.shown(member))
            elif name == "EMC":
                if marks:
                    marks.pop()
            elif name in ("MP", "DP") or (name == "Do" and str(one.operands[0]) in off):
                continue
            elif any(marks) and (name in _SHOWING or name in _PAINTING | _NEXT_LINE):
                if name not in _SHOWING:
                    instead = "n" if name in _PAINTING else "T*"
                    yield pikepdf.ContentStreamInstruction([], pikepdf.Operator(instead))
            else:
                if name == "Tf":
                    used.add(str(one.operands[0]))
                yield one

    def _loose(self, resources: Any) -> Iterator[tuple[str, str]]:
        """Name the fonts of a resource dictionary that are not in the file."""
        for name, font in resources.get("/Font", Dictionary()).items():
            if str(font.get("/Subtype", "")) == "/Type3":
                continue
            whole = font
            if "/DescendantFonts" in font:
                whole = font["/DescendantFonts"][0]
            described = whole.get("/FontDescriptor", Dictionary())
            if not any(key in described for key in _FONT_FILES):
                yield name, str(font.get("/BaseFont", name)).lstrip("/")

    def _strip(self, form: Any) -> None:
        """Take out of all that is left what leads away from it."""
        todo = [form]
        seen: set[tuple[int, int]] = set()
        while todo:
            one = todo.pop()
            if one.is_indirect:
                if one.objgen in seen:
                    continue
                seen.add(one.objgen)
                if len(seen) > MOST_OBJECTS:
                    raise RefusedError("it has too many parts.", "Save it more simply.")
            inner: Any = ()
            if isinstance(one, Dictionary | Stream):
                _without_ways_out(one)
                inner = one.values()
            elif isinstance(one, Array):
                inner = one
            todo += [value for value in inner if isinstance(value, pikepdf.Object)]


def _without_ways_out(one: Any) -> None:
    if isinstance(one, Stream):
        if "/F" in one:
            raise RefusedError(
                "a part of it lies in another file.",
                "Save it with all of its pictures in it.",
            )
        for key in sorted(_UNUSED & one.keys()):
            del one[key]
    if "/Properties" in one:
        del one["/Properties"]


if __name__ == "__main__":
    sys.exit(main())
