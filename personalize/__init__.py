"""Put the words of a spreadsheet on printable paper kits.

    import personalize

    table = personalize.read_table("picnic.csv")
    design = personalize.load_design("plant-flag")
    result = personalize.make(table, design, Path("picnic"))
    for finding in result.findings:
        print(finding)

`check` finds what would go wrong, `proof` shows every piece, `make` writes sheets, cut
file, proof and report. All three take one design or several (`load_designs` gives the
pieces of a drawing): every message gets one of each. `table_from_frame` and
`frame_from_table` change to and from pandas. Input that cannot be used raises
`InputError`, which carries every problem.
"""

from personalize.cut_files import CutOptions
from personalize.design.design import Design
from personalize.design.load import load_design, load_designs, sample_names
from personalize.earlier import EarlierSizes, read_earlier
from personalize.errors import InputError, OwnFaultError, PersonalizeError, Problem
from personalize.finding import Finding, Severity
from personalize.messages.frames import frame_from_table, table_from_frame
from personalize.messages.read import read_table
from personalize.messages.table import Row, Source, Table
from personalize.options import Options, Result
from personalize.run import check, make, proof
from personalize.sheet.backs import Flip
from personalize.sheet.paper import Paper, PaperMargins, parse_margins, parse_paper
from personalize.sheet.rules import SheetRules
from personalize.sheet.uncut import CutRules, Dashes

__all__ = [
    "CutOptions",
    "CutRules",
    "Dashes",
    "Design",
    "EarlierSizes",
    "Finding",
    "Flip",
    "InputError",
    "Options",
    "OwnFaultError",
    "Paper",
    "PaperMargins",
    "PersonalizeError",
    "Problem",
    "Result",
    "Row",
    "Severity",
    "SheetRules",
    "Source",
    "Table",
    "check",
    "frame_from_table",
    "load_design",
    "load_designs",
    "make",
    "parse_margins",
    "parse_paper",
    "proof",
    "read_earlier",
    "read_table",
    "sample_names",
    "table_from_frame",
]
