"""Run the peer: typst compiles peer.typ, or gives the sizes that it finds.

python peer.py SCRIPT FONTS PDF        writes the sheets
python peer.py SCRIPT FONTS --sizes    prints [{"size": pt, "lines": n}, ...]
"""

import sys

import typst

script, fonts, wanted = sys.argv[1:]
if wanted == "--sizes":
    found = typst.query(
        script, "<fit>", field="value", font_paths=[fonts], ignore_system_fonts=True
    )
    print(found)
else:
    # Without tags: our PDF has none either.
    typst.compile(
        script,
        output=wanted,
        font_paths=[fonts],
        ignore_system_fonts=True,
        pdf_tags=False,
    )
