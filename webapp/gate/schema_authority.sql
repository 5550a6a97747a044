-- The office's own tables of gate.db for the certificates of places' laptops. A place's folder has none of them.

CREATE TABLE IF NOT EXISTS authorities (
    domain       TEXT NOT NULL,                 -- the names it can speak for: this one, and those below it
    made         INTEGER NOT NULL,              -- ms UTC
    certificate  BLOB NOT NULL,                 -- X.509, DER
    key          BLOB NOT NULL,                 -- P-256 private key, PKCS #8, DER: it never leaves this file
    PRIMARY KEY (domain, made)
) WITHOUT ROWID;

CREATE TABLE IF NOT EXISTS certified (          -- every certificate made for a place's laptop. Rows are never changed or removed
    serial       BLOB PRIMARY KEY,              -- 20 bytes, big-endian
    place        TEXT NOT NULL,
    mode         TEXT NOT NULL CHECK (mode IN ('live', 'practice')),
    made         INTEGER NOT NULL,              -- ms UTC
    certificate  BLOB NOT NULL                  -- X.509, DER; the laptop's public key is in it, its private key is not here
) WITHOUT ROWID;
