"""Sentences that people read are plain: no turn of phrase that a poll worker has to read twice. `python tests/house/sentences.py` prints them all, to be read in one go."""

import re

from tests.house.sentences import ROOT, is_sentence, sentences

PLAINER = {  # a turn of phrase: what to write instead
    r"(?<!sheet )(?<!slip )\bfolded away\b": "hidden",
    r"\b(?:strike|struck|strikes)\b[^.]* off\b": "remove, removed",
    r"\banew\b": "again",
    r"\bthe own\b": "your own, their own",
    r"\bwhoever\b": "the official who, anyone who",
    r"\bmend(?:s|ed)?\b": "correct, repair",
    r"\blie(?:s)? (?:in|here|there|behind|below|before|elsewhere|inside|one)\b": "is",
    r"\bstands? (?:twice|already|under|below|on it|in (?!line|for)|beside)\b": "is",
    r"\bwants? a look\b": "needs attention",
}
OLDER = ("webapp/precinct/explain/",)
"""Words of explanations stand in stored answers of the command `balance`; they change there together."""


def test_no_sentence_holds_a_turn_of_phrase_that_has_a_plainer_one():
    wrong = [
        f"{one.file}:{one.line} {one.text!r}: write {instead}"
        for one in sentences()
        if not one.file.startswith(OLDER)
        for phrase, instead in PLAINER.items()
        if re.search(phrase, one.text, re.I)
    ]
    assert wrong == []


def test_the_listing_finds_sentences_wherever_they_are_written():
    found = sentences()
    ends = {one.file.rpartition(".")[2] for one in found}
    assert len(found) > 2000 and ends == {"py", "html", "js", "toml"}
    for file, text in (
        ("webapp/gate/pending_signatures.py", "neither signature counts"),  # a string
        ("webapp/commands/recovery/verify_copy.py", "{...} entries come after a gap."),  # one with a figure filled in
        ("webapp/pages/templates/tablets/held.html", "Read the list first."),  # text of a page
        ("static/offline.js", "Filled in as it was held."),  # a script
        ("webapp/precinct/steps/closing.toml", "Count what is in it, face down."),  # a step
    ):
        assert [one for one in found if one.file == file and text in one.text], (file, text)


def test_code_is_no_sentence():
    for text in ("SELECT id, path FROM drafts WHERE id = ?", "two words", "", "a b c", "max-age=0, no-store"):
        assert not is_sentence(text), text
    assert (ROOT / "webapp").is_dir()
