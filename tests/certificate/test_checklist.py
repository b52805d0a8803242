"""The clauses of ISO/IEC 17025:2017, each met or not, on the page and in the terminal."""

from dataclasses import replace

import pytest

from certgen import resources
from certgen.cli import main
from certgen.document.compose import compose, contents
from certgen.document.content import Statements, Table
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
    """It is annex H; page one says that it was left out."""
    title = WORDING.word("section_checklist")
    every = compose(sample("tutorial"), WORDING).sections
    plain = compose(sample("tutorial"), WORDING, annexes="ABCDEFG").sections
    assert {part.title for part in every} - {part.title for part in plain} == {title}
    assert (every[-1].title, every[-1].annex) == (title, "H")
    said = {
        label: text
        for block in plain[0].blocks
        if isinstance(block, Statements)
        for label, text in block.pairs
    }
    assert f"H ({title})" in said[WORDING.word("say_annexes")]
    assert not any(
        label == WORDING.word("say_annexes")
        for block in every[0].blocks
        if isinstance(block, Statements)
        for label, _ in block.pairs
    )


def test_amendment_says_what_it_replaces_and_why() -> None:
    """On page one, whatever gives way there."""
    for content in contents(sample("unwind_wide"), WORDING):
        blocks = content.sections[0].blocks
        said = {label: text for b in blocks if isinstance(b, Statements) for label, text in b.pairs}
        assert said["Replaces"].startswith("HV-26-0231, revision 0")
        assert "wrong order" in said["Replaces"]


def test_check_prints_the_list_where_wanted(capsys: pytest.CaptureFixture[str]) -> None:
    """Clause by clause, with the answer."""
    with pytest.raises(SystemExit):
        main(["check", "--with-checklist", str(resources.sample_surveys() / "tutorial.yaml")])
    printed = capsys.readouterr().out
    assert "7.8.2.1 a)" in printed
    assert "7.8.8" in printed
