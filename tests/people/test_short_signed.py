"""A seat that cannot be filled never stops the work; the step says who did not sign, why, and who was told.

Source: refusing to sign is possible and is recorded, never worked around (trade.md 1, ID-MI); otherwise common practice, no source.
"""

from webapp.precinct.day import short_signed

NOW = 30_000_000


def row(seat="other", why="absent", told_at=NOW - 60_000, **more):
    return {"seat": seat, "why": why, "told_at": told_at, **more}


def mistakes(day, weight, signed, *rows):
    return short_signed.mistakes(weight, day.of(*signed.split()), rows, day.people, day.rules, NOW)


def test_one_signature_with_the_reason_for_the_empty_seat_is_kept(sworn):
    assert mistakes(sworn, "P", "ruiz", row()) == ()


def test_even_short_signed_somebody_signs(sworn):
    assert mistakes(sworn, "P", "", row("any"), row()) == (
        "Nobody has signed this yet: even a short-signed step carries one signature.",
    )


def test_every_empty_seat_is_named(sworn):
    assert mistakes(sworn, "chair+other+any", "ruiz", row()) == (
        "The seat for any sworn official is empty too: say why, and who at the office was told.",
    )


def test_a_seat_somebody_took_is_not_short(sworn):
    assert (
        mistakes(sworn, "P", "ruiz", row("any"), row())[0] == "The seat “any” is not empty: the empty ones are other."
    )
    assert "every seat is taken" in mistakes(sworn, "P", "ruiz okoye", row())[0]


def test_a_seat_is_named_once(sworn):
    assert mistakes(sworn, "P", "ruiz", row(), row(why="declined")) == (
        "The seat “other” is named 2 times: name it once.",
    )


def test_the_reason_is_one_of_four(sworn):
    assert mistakes(sworn, "P", "ruiz", row(why="late")) == (
        "Choose why the seat is empty: absent, declined, pin-lost, none-here.",
    )


def test_the_time_the_office_was_told_is_asked_for_and_has_passed(sworn):
    assert mistakes(sworn, "P", "ruiz", row(told_at=None)) == ("Enter when the office was told.",)
    assert mistakes(sworn, "P", "ruiz", row(told_at=NOW + 1)) == (
        "The office was told at a time that is still to come: enter when it was told.",
    )


def test_what_does_not_belong_is_named(sworn):
    assert mistakes(sworn, "P", "ruiz", row(note="x")) == (
        "A short-signed seat carries able, seat, told, told_at, why and nothing else; take out note.",
    )


def test_nobody_here_is_not_said_while_somebody_who_may_sign_is_at_work(roll):
    alone, both = roll().swear("ruiz", "lind"), roll().swear("ruiz", "okoye")

    assert mistakes(alone, "P", "ruiz", row(why="none-here")) == ()
    assert "Bem Okoye is at work and may take the seat" in mistakes(both, "P", "ruiz", row(why="none-here"))[0]
    assert mistakes(both, "P", "ruiz", row(why="declined")) == ()


def test_a_later_countersignature_fills_the_empty_seat(sworn):
    short = [row()]
    ask = lambda later, person: short_signed.countersign_refusal(
        "P", sworn.of("ruiz"), sworn.of(*later.split()), short, *sworn.of(person), sworn.people, sworn.rules
    )

    assert ask("", "okoye") is None
    assert "count as one party" in ask("", "lind")
    assert "signed already" in ask("", "ruiz")
    assert ask("okoye", "sato") == "Every empty seat of this step was countersigned already."


def test_a_step_signed_in_full_is_not_countersigned(sworn):
    assert "signed in full" in short_signed.countersign_refusal(
        "P", sworn.of("ruiz", "okoye"), (), [], *sworn.of("sato"), sworn.people, sworn.rules
    )


def test_the_one_who_was_missing_from_all_countersigns_and_nobody_else(sworn):
    short = [row("sato", "declined")]
    ask = lambda person: short_signed.countersign_refusal(
        "all", sworn.of("ruiz", "okoye"), (), short, *sworn.of(person), sworn.people, sworn.rules
    )

    assert ask("sato") is None
    assert ask("vane") == "Eli Vane has no empty seat in this step."
    assert [
        s.name for s in short_signed.open_seats("all", sworn.of("ruiz"), sworn.of("sato"), short, sworn.rules)
    ] == []
