"""Every finding word fires on its example and not on its near miss; whole builds give exactly what is written."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from journal.ground.explanations import WORDS
from tests.builds import finding_line, finding_lines, record_line, tell_files
from tests.golden import REWRITE, Golden, golden_cases, rewrite

JOURNAL = Path(__file__).parent.parent / "journal"


@pytest.mark.parametrize("word", WORDS)
def test_example_gives_the_word_and_nothing_else_grave(word: str, tmp_path: Path) -> None:
    entry = WORDS[word]
    findings = tell_files(tmp_path, entry.example, entry.encoding).judgement.findings
    assert word in {finding.word for finding in findings}
    others = [finding_line(f) for f in findings if f.word != word and f.severity != "remark"]
    assert others == []
    assert sum(finding.word == word for finding in findings) == 1, "one fault, one finding"


@pytest.mark.parametrize("word", WORDS)
def test_near_miss_gives_no_such_word_and_nothing_grave(word: str, tmp_path: Path) -> None:
    findings = tell_files(tmp_path, WORDS[word].near_miss).judgement.findings
    assert [finding_line(f) for f in findings if f.word == word or f.severity != "remark"] == []


@pytest.mark.parametrize("word", WORDS)
def test_every_word_is_explained(word: str) -> None:
    entry = WORDS[word]
    sentences = entry.text.count(". ") + entry.text.count(".)") + 1
    assert 2 <= sentences <= 6
    assert entry.example
    assert entry.near_miss
    assert (entry.example, entry.encoding) != (entry.near_miss, "utf-8")


def test_words_in_the_code_and_words_of_the_table_are_the_same() -> None:
    texts = [path.read_text("utf-8") for path in JOURNAL.rglob("*.py") if "ground/expla" not in path.as_posix()]
    written = {
        node.value
        for text in texts
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    assert WORDS.keys() - written == set(), "words that nothing tells"
    assert {word for text in texts for word in _told(ast.parse(text))} - WORDS.keys() == set()


def _told(tree: ast.AST) -> set[str]:
    """The words that findings are made with: the first argument, or that of the helpers that pass it on."""
    makers = {"Finding": 0, "ValueFault": 0, "PhotoFault": 1, "_tell": None, "tell": None}
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and (name := getattr(node.func, "id", getattr(node.func, "attr", ""))) in makers:
            at = makers[name]
            arguments = node.args if at is None else node.args[at : at + 1]
            found |= {
                a.value
                for a in arguments
                if isinstance(a, ast.Constant) and isinstance(a.value, str) and "-" in a.value and " " not in a.value
            }
    return found


@pytest.mark.parametrize("case", [*golden_cases()], ids=str)
def test_golden(case: Golden, tmp_path: Path) -> None:
    told = tell_files(tmp_path, case.files)
    records = [
        record_line(told, record)
        for part, record in told.judgement.records.items()
        if record.asked or told.book.parts[part].hosts
    ]
    findings = [line for finding in told.judgement.findings for line in finding_lines(finding)]
    results = {"findings": "\n".join(findings) or "none", "records": "\n".join(records)}
    if REWRITE:
        rewrite(case, results)
        return
    assert results == case.results, str(case)
