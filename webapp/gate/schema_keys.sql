-- The keys' and slips' own tables of gate.db, the same in a place's folder and in the office's.

CREATE TABLE keys (                             -- own: Ed25519 private, 32 bytes; office: the office's public key; pepper: 32 random bytes
    name   TEXT PRIMARY KEY,
    value  BLOB NOT NULL
) WITHOUT ROWID;

CREATE TABLE folder (                           -- one row: whose gate this is
    one    INTEGER PRIMARY KEY CHECK (one = 1),
    what   TEXT NOT NULL CHECK (what IN ('place', 'office')),
    id     TEXT NOT NULL,
    mode   TEXT CHECK (mode IN ('live', 'practice'))    -- NULL for an office, which prepares both
);

CREATE TABLE slips (
    person    TEXT PRIMARY KEY,
    verifier  TEXT NOT NULL,                    -- argon2id(HMAC-SHA-256(pepper, code)) as a PHC string
    used_at   INTEGER                           -- ms UTC
) WITHOUT ROWID;

CREATE TABLE enrolled (                         -- the office's: public keys of places. Rows are only ever closed, never removed
    kid          BLOB PRIMARY KEY,              -- first 8 bytes of SHA-256 of the public key
    place        TEXT NOT NULL,
    mode         TEXT NOT NULL CHECK (mode IN ('live', 'practice')),
    public       BLOB NOT NULL,                 -- 32 bytes
    from_ms      INTEGER NOT NULL,              -- ms UTC
    to_ms        INTEGER,                       -- NULL while it is in force
    replaced_by  BLOB,                          -- kid of the key that came after
    lost_at      INTEGER                        -- ms UTC, when the laptop or the key was reported lost
) WITHOUT ROWID;

CREATE UNIQUE INDEX one_key_in_force ON enrolled (place, mode) WHERE to_ms IS NULL;
