"""The clauses of ISO/IEC 17025:2017, each met or not, on the page and in the terminal."""

from dataclasses import replace

import pytest

from certgen import resources
from certgen.cli import main
from certgen.document.compose import compose
from certgen.document.content import Facts, Table
from certgen.document.statements import CLAUSES, checklist, checklist_section
from certgen.survey.survey import Conditions
from tests.certificate.samples import WORDING, sample


def test_list_covers_every_clause_once() -> None:
    """7.8.2.1 a) to p), 7.8.4.1 a) to f), 7.8.6.1, 7.8.6.2 and 7.8.8."""
    numbers = [clause.number for clause in CLAUSES]
    assert numbers[:16] == [f"7.8.2.1 {letter})" for letter in "abcdefghijklmnop"]
    assert numbers[16:22] == [f"7.8.4.1 {letter})" for letter in "abcdef"]
    assert numbers[22:] == ["7.8.6.1", "7.8.6.2", "7.8.8"]


def test_missing_conditions_are_not_met() -> None:
    """Without a temperature 7.8.4.1 b) is open, and its row is emphasised."""
    survey = replace(sample("tutorial").survey, conditions=Conditions())
    open_clauses = [answer.clause.number for answer in checklist(survey) if answer.status == "not met"]
    assert open_clauses == ["7.8.4.1 b)"]
    (table,) = checklist_section(survey, WORDING).blocks
    assert isinstance(table, Table)
    assert [table.rows[i][0] for i in table.emphasis] == ["7.8.4.1 b)"]


def test_certificate_has_the_list_only_where_wanted() -> None:
    """Before the safety notes."""
    plain = [part.title for part in compose(sample("tutorial"), WORDING).sections]
    wanted = [part.title for part in compose(sample("tutorial"), WORDING, with_checklist=True).sections]
    assert set(wanted) - set(plain) == {WORDING.word("section_checklist")}


def test_amendment_says_what_it_replaces_and_why() -> None:
    """On the first page, beside the parties."""
    blocks = compose(sample("unwind_wide"), WORDING).sections[1].blocks
    facts = next(block for block in blocks if isinstance(block, Facts))
    assert dict(facts.pairs)["Replaces"] == "HV-26-0231, revision 0"
    assert "wrong order" in dict(facts.pairs)["Why, and what changed"]


def test_check_prints_the_list_where_wanted(capsys: pytest.CaptureFixture[str]) -> None:
    """Clause by clause, with the answer."""
    with pytest.raises(SystemExit):
        main(["check", "--with-checklist", str(resources.sample_surveys() / "tutorial.yaml")])
    printed = capsys.readouterr().out
    assert "7.8.2.1 a)" in printed
    assert "7.8.8" in printed
