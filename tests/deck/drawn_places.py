"""Place files drawn at random: 1 to 4 styles of 4 to 10 contests (1 to 3 where small), a party at most n candidates in a contest, precincts, straight party, rotation.

The first contest (two, with straight party) is an office with 3 to 7 candidates and a write-in line, as ballots have; `small` leaves it out and draws the least of ballots.
"""

import json
import random

PARTIES = ("M", "P", "N")
HEAD = """format = 1
mode = "practice"
edition = "drawn {seed}"
[place]
id = "D{seed}"
name = "Drawn place"
county = "Tarn County"
election = "Test"
date = 2026-11-03
zone = "America/Chicago"
opens = "07:00"
closes = "20:00"
host = "d.tarn.example"
[rules]
provisional_in_poll_book = false
found = "set-apart"
overvotes = "{overvotes}"
"""


def drawn_place(seed: int, small: bool = False) -> str:
    """The place file of this seed, as text."""
    rng = random.Random(f"drawn place {seed}")
    text = [HEAD.format(seed=seed, overvotes=rng.choice(["votes", "ballots"]))]
    straight = rng.random() < 0.15
    text.append(
        f'[test]\nfolded = {str(rng.random() < 0.7).lower()}\nevery = "{"precinct" if rng.random() < 0.1 else "style"}"\n'
    )
    if straight:
        text.append('straight = "SP"\n')
    text += [
        f'[[parties]]\nid = "{p}"\nname = "Party {p}"\nword = "{word}"\n'
        for p, word in zip(PARTIES, ("Maple", "Plover", "None"), strict=True)
    ]
    text += [
        f'[[officials]]\nid = "o{p}"\nname = "Official {p}"\nparty = "{p}"\nrole = "{"chair" if p == "M" else "witness"}"\n'
        for p in PARTIES
    ]
    contests = [
        _contest(rng, i, straight, not small and i < (2 if straight else 1))
        for i in range(rng.randint(1, 3) if small else rng.randint(4, 14))
    ]
    styles, precincts = [], []
    for s in range(rng.randint(1, 4)):
        chosen = sorted(
            {
                0,
                *([1] if straight and not small else []),
                *rng.sample(range(len(contests)), rng.randint(1 if small else 3, min(9, len(contests)))),
            }
        )
        own = [f"P{s}{i}" for i in range(rng.randint(1, 3))] + (
            [precincts[0]] if precincts and rng.random() < 0.3 else []
        )
        precincts += [p for p in own if p not in precincts]
        ids = (["SP"] if straight else []) + [contests[i]["id"] for i in chosen]
        order = _order(rng, [contests[i] for i in chosen])
        styles.append(f'[[styles]]\nid = "S{s}"\nprecincts = {json.dumps(own)}\ncontests = {json.dumps(ids)}\n{order}')
    used = {i for style in styles for i in range(len(contests)) if f'"{contests[i]["id"]}"' in style}
    text += [f'[[precincts]]\nid = "{p}"\nname = "Precinct {p}"\n' for p in precincts] + styles
    if straight:
        choices = ", ".join(f'{{ id = "{p}", label = "Party {p}" }}' for p in PARTIES[: rng.randint(2, 3)])
        text.append(f'[[contests]]\nid = "SP"\ntitle = "Straight party"\nn = 1\nchoices = [{choices}]\n')
    text += [contests[i]["text"] for i in sorted(used)]
    text.append('[[boxes]]\nid = "B1"\n[[tabulators]]\nid = "T1"\nserial = "1"\nbox = "B1"\n')
    text.append('[[boxes]]\nid = "B2"\n[[tabulators]]\nid = "T2"\nserial = "2"\nbox = "B2"\n')
    text += [f'[[stock]]\nstyle = "S{s}"\nreceived = 100\n' for s in range(len(styles))]
    return "\n".join(text)


def _contest(rng: random.Random, i: int, straight: bool, office: bool) -> dict:
    shape = rng.random()
    if office:
        choices, n, write_in = rng.randint(3, 7), 1, True
    elif shape < 0.3:
        choices, n, write_in = 2, 1, False
    elif shape < 0.45:
        choices, n, write_in = 1, 1, rng.random() < 0.7
    else:
        choices, n, write_in = rng.randint(2, 7), rng.choice([1, 1, 1, 2, 3, 4]), rng.random() < 0.7
    ids = [f"c{k}" for k in range(choices)]
    party = lambda k: f', party = "{PARTIES[k % 3]}"' if straight and (office or shape >= 0.45) and k < 3 * n else ""
    listed = ", ".join(f'{{ id = "{c}", label = "Choice {c}"{party(k)} }}' for k, c in enumerate(ids))
    lines = f"write_in_lines = {rng.randint(1, 3)}\n" if write_in and rng.random() < 0.3 else ""
    text = f'[[contests]]\nid = "K{i}"\ntitle = "Contest {i}"\nn = {n}\nwrite_in = {str(write_in).lower()}\n{lines}choices = [{listed}]\n'
    return {"id": f"K{i}", "choices": ids, "text": text}


def _order(rng: random.Random, contests: list[dict]) -> str:
    """A rotation in one contest of some styles."""
    long = [c for c in contests if len(c["choices"]) > 2]
    if not long or rng.random() < 0.6:
        return ""
    one = rng.choice(long)
    by = rng.randint(1, len(one["choices"]) - 1)
    return f"order = {{ {one['id']} = {json.dumps(one['choices'][by:] + one['choices'][:by])} }}\n"
