"""Every rule is registered, told in docs/findings.md, and raised by a run here."""

import re

import pytest

from personalize.finding import Finding
from personalize.rules import SUBJECTS, Rule, catalogue
from personalize.rules_page import page
from tests.conftest import ROOT
from tests.rule_scenes import SCENES


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> tuple[Finding, ...]:
    out: tuple[Finding, ...] = ()
    for scene in SCENES:
        out += scene(tmp_path_factory.mktemp(scene.__name__))
    return out


@pytest.mark.parametrize("rule", Rule)
def test_a_rule_is_raised_with_a_severity_that_is_registered(
    rule: Rule, found: tuple[Finding, ...]
) -> None:
    mine = [finding for finding in found if finding.rule is rule]
    assert mine, f"nothing raises {rule}"
    assert {f.severity.value for f in mine} <= set(catalogue()[rule].severities)
    assert all(f.says and f.says[-1] in ".?" for f in mine)


def test_no_finding_is_made_by_a_rule_that_is_not_registered(
    found: tuple[Finding, ...],
) -> None:
    assert all(isinstance(finding.rule, Rule) for finding in found)
    loose = re.compile(r"(?:Finding|Trouble|Fault)\(\s*f?[\"']")
    for path in (ROOT / "personalize").rglob("*.py"):
        assert loose.search(path.read_text("utf-8")) is None, path.name


def test_the_page_of_findings_is_made_from_the_code() -> None:
    assert (ROOT / "docs" / "findings.md").read_text("utf-8") == page()


@pytest.mark.parametrize("rule", Rule)
def test_a_rule_says_what_it_means_and_what_to_do(rule: Rule) -> None:
    known = catalogue()[rule]
    assert known.subject in SUBJECTS
    assert set(known.severities) <= {"error", "warning", "note"}
    assert known.means
    assert known.do
