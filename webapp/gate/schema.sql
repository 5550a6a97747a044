-- The tables of gate.db beside the keys' and slips' own (keys.py). No table holds a name of a voter or a PIN.
-- Figures lie here only while they wait: for a second signature (pending), or on a page half filled in (drafts).

CREATE TABLE IF NOT EXISTS pins (
    person    TEXT PRIMARY KEY,
    verifier  TEXT NOT NULL                     -- argon2id(HMAC-SHA-256(pepper, PIN)) as a PHC string
) WITHOUT ROWID;

CREATE TABLE IF NOT EXISTS wrong_tries (        -- since the last right one; waits are counted in memory, so no times
    person    TEXT NOT NULL,
    tablet    TEXT NOT NULL,
    what      TEXT NOT NULL,                    -- PIN | slip code
    tries     INTEGER NOT NULL,
    PRIMARY KEY (person, tablet, what)
) WITHOUT ROWID;

CREATE TABLE IF NOT EXISTS sessions (           -- rows are never deleted: a tablet's id is used once
    tablet        TEXT PRIMARY KEY,
    handle        BLOB UNIQUE,                  -- SHA-256 of the cookie's handle; NULL when revoked
    opened        INTEGER NOT NULL,             -- ms UTC
    holder        TEXT,
    holder_since  INTEGER,                      -- ms UTC
    seen          INTEGER NOT NULL              -- start of the quarter hour of the last touch, ms UTC
) WITHOUT ROWID;

CREATE TABLE IF NOT EXISTS former_handles (     -- what a tablet carried before it was taken, until it has come back with the new one
    tablet        TEXT PRIMARY KEY,
    handle        BLOB NOT NULL                 -- SHA-256
) WITHOUT ROWID;

CREATE TABLE IF NOT EXISTS pending (            -- steps that wait for their next signature
    id        TEXT PRIMARY KEY,
    claims    BLOB NOT NULL,
    digest    BLOB NOT NULL,                    -- what was signed, as the pages digest it
    sha256    BLOB NOT NULL,                    -- of claims, to know that no byte changed while they lay here
    weight    TEXT NOT NULL,
    coarse    INTEGER NOT NULL,                 -- 1: a ballot kind is among them, and every time is a quarter hour's start
    begun     INTEGER NOT NULL                  -- ms UTC
) WITHOUT ROWID;

CREATE TABLE IF NOT EXISTS pending_signers (
    pending   TEXT NOT NULL REFERENCES pending(id) ON DELETE CASCADE,
    place     INTEGER NOT NULL,                 -- 1, 2 ... in order of signing
    person    TEXT NOT NULL,
    signed    INTEGER NOT NULL,                 -- ms UTC
    PRIMARY KEY (pending, place),
    UNIQUE (pending, person)
) WITHOUT ROWID;

CREATE TABLE IF NOT EXISTS taps (               -- handed-back ballots of the running hour, by message and outcome
    hour      INTEGER NOT NULL,                 -- its start, ms UTC
    message   TEXT NOT NULL,
    outcome   TEXT NOT NULL,
    count     INTEGER NOT NULL CHECK (count >= 0),
    PRIMARY KEY (hour, message, outcome)
) WITHOUT ROWID;

CREATE TABLE IF NOT EXISTS tapped (             -- random ids of taps that were counted; neither hour nor order
    id        BLOB PRIMARY KEY
) WITHOUT ROWID;

CREATE TABLE IF NOT EXISTS taken_hours (        -- an hour's taps on their way into the record, under an entry id fixed beforehand
    hour      INTEGER PRIMARY KEY,
    entry_id  BLOB NOT NULL
);

CREATE TABLE IF NOT EXISTS taken_taps (
    hour      INTEGER NOT NULL REFERENCES taken_hours(hour) ON DELETE CASCADE,
    message   TEXT NOT NULL,
    outcome   TEXT NOT NULL,
    count     INTEGER NOT NULL,
    PRIMARY KEY (hour, message, outcome)
) WITHOUT ROWID;

CREATE TABLE IF NOT EXISTS contacts (           -- what each tablet said when it was last in reach; no times
    tablet    TEXT PRIMARY KEY,
    held      INTEGER NOT NULL CHECK (held >= 0),
    heard     INTEGER NOT NULL,                 -- length of the record when it said so
    offset    INTEGER                           -- tablet's clock less the laptop's, ms; NULL while the laptop's is a scripted one
) WITHOUT ROWID;

CREATE TABLE IF NOT EXISTS tablets (            -- those that came over the network with a code; their handles are in sessions
    tablet    TEXT PRIMARY KEY,
    level     TEXT NOT NULL CHECK (level IN ('full', 'online')),
    admitted  INTEGER NOT NULL DEFAULT 0
);

CREATE TABLE IF NOT EXISTS drafts (             -- pages half filled in: no entry, in no record, on no stick, gone at the hand-over
    id        TEXT PRIMARY KEY,                 -- the random id (hex) of the first entry that the page would make
    path      TEXT NOT NULL,                    -- the page, as /step/roles
    steps     TEXT NOT NULL,                    -- ids of its steps, with a space between
    form      TEXT NOT NULL,                    -- JSON [[input name, value] ...], no PIN and no signer among them
    tablet    TEXT NOT NULL,                    -- where it was typed
    person    TEXT,                             -- who held that tablet when it was begun
    begun     INTEGER NOT NULL,                 -- ms UTC; of one ballot the start of the quarter hour
    state     TEXT NOT NULL,                    -- begun | waits (signed once) | lapsed | taken-back
    pending   TEXT,                             -- the signature it waits with, or waited with
    signer    TEXT,                             -- who signed first,
    signed    INTEGER                           -- and when, ms UTC, as coarse as `begun`
) WITHOUT ROWID;
