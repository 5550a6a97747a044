"""Text from a hand scanner: spaces kept, layouts mended, codes parted."""

import pytest

from webapp.packet import frames, keyboard_scanner
from webapp.packet.cose import PacketRefused


def typed_otherwise(text: str) -> str:
    """Every character for another one, none swallowed."""
    alphabet = keyboard_scanner.ALPHABET
    return text.translate({ord(a): b for a, b in zip(alphabet, alphabet[7:].lower() + alphabet[:7], strict=True)})


def test_codes_one_a_line_are_parted_and_their_spaces_kept(texts):
    spaced = next(text for text in texts if text.endswith(" ") or " " in text)
    assert (spaced, texts[0]) == keyboard_scanner.codes_in(f"{spaced}\r\n{texts[0]}\t\n\n")


def test_a_code_that_ends_with_spaces_keeps_them():
    text = "TS1:" + "A" * 420 + "  "
    assert (text,) == keyboard_scanner.codes_in(text + "\n")


def test_codes_run_together_are_parted_by_their_length(texts):
    assert texts == keyboard_scanner.codes_in("".join(texts))


def test_small_letters_are_read_as_capitals(texts):
    assert (texts[0],) == keyboard_scanner.codes_in(texts[0].lower())


def test_other_text_is_left_as_it_is():
    assert ("https://example.org/a b",) == keyboard_scanner.codes_in("https://example.org/a b\n\n")


def test_the_calibration_code_mends_every_later_code(texts):
    keyboard = keyboard_scanner.layout(typed_otherwise(keyboard_scanner.CALIBRATION) + "\n")
    assert texts == keyboard_scanner.codes_in("\n".join(map(typed_otherwise, texts)), keyboard)
    assert "new" == frames.Collector().add(keyboard.mended(typed_otherwise(texts[0])))


def test_a_right_layout_changes_nothing(texts):
    assert texts[0] == keyboard_scanner.layout(keyboard_scanner.CALIBRATION).mended(texts[0])


def test_the_calibration_text_can_be_a_code_and_holds_the_whole_alphabet():
    assert set(keyboard_scanner.CALIBRATION) == set(
        keyboard_scanner.ALPHABET
    ) and keyboard_scanner.CALIBRATION.startswith(keyboard_scanner.ALPHABET)


@pytest.mark.parametrize(
    "typed, sentence",
    [
        (keyboard_scanner.CALIBRATION[:-1], "typed 52 characters for the 53"),
        (keyboard_scanner.CALIBRATION.replace(" ", ""), "typed 52 characters"),
        (keyboard_scanner.CALIBRATION.replace("Z", "Y"), "two characters of the calibration code alike"),
        ("x" * 53, "two characters"),
        (keyboard_scanner.ALPHABET + "SOMETHIN", "two characters"),
    ],
)
def test_a_layout_that_swallows_or_doubles_is_refused(typed, sentence):
    with pytest.raises(PacketRefused, match=sentence):
        keyboard_scanner.layout(typed)
