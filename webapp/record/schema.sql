-- One record. Triggers stop slips; the chain of heads stops people (they can drop a trigger, they cannot keep the heads right).
--
-- The column that an index covers stands last in its row: a bit that flips in a row's own header shifts what is read from every
-- column after it, and so the index no longer agrees. That is how the checker tells a damaged page from a changed entry.

PRAGMA application_id = 0x54534C31;
PRAGMA user_version = 1;

CREATE TABLE record (
  one INTEGER PRIMARY KEY CHECK (one = 1),
  record_id BLOB NOT NULL CHECK (length(record_id) = 16)
) STRICT;

CREATE TABLE entries (
  number INTEGER PRIMARY KEY,
  entry BLOB NOT NULL,
  prev BLOB NOT NULL CHECK (length(prev) = 32),
  head BLOB NOT NULL CHECK (length(head) = 32),
  tablet TEXT NOT NULL,
  seq INTEGER NOT NULL CHECK (seq >= 0),
  id BLOB NOT NULL CHECK (length(id) = 16)
) STRICT;

CREATE UNIQUE INDEX entry_ids ON entries (id);
CREATE UNIQUE INDEX entry_lines ON entries (tablet, seq) WHERE seq > 0;

-- Free words, whose salted digests stand in the entry. A text may be withheld from a copy; it may not be changed.
CREATE TABLE words (
  line INTEGER PRIMARY KEY,
  text TEXT NOT NULL,
  salt BLOB NOT NULL CHECK (length(salt) = 16),
  name TEXT NOT NULL,
  number INTEGER NOT NULL
) STRICT;

CREATE INDEX words_of_entry ON words (number);

CREATE TRIGGER entries_are_added_at_the_end BEFORE INSERT ON entries BEGIN
  SELECT RAISE(ABORT, 'an entry takes the next number')
   WHERE NEW.number IS NOT (SELECT coalesce(max(number), 0) + 1 FROM entries);
  SELECT RAISE(ABORT, 'an entry continues from the newest head')
   WHERE EXISTS (SELECT 1 FROM entries)
     AND NEW.prev IS NOT (SELECT head FROM entries ORDER BY number DESC LIMIT 1);
  SELECT RAISE(ABORT, 'this id is already an entry')
   WHERE EXISTS (SELECT 1 FROM entries WHERE id = NEW.id);
  SELECT RAISE(ABORT, 'this line of the tablet is already an entry')
   WHERE EXISTS (SELECT 1 FROM entries WHERE tablet = NEW.tablet AND seq = NEW.seq AND seq > 0);
END;

CREATE TRIGGER entries_are_never_changed BEFORE UPDATE ON entries BEGIN
  SELECT RAISE(ABORT, 'an entry is never changed; add a correction');
END;

CREATE TRIGGER entries_are_never_removed BEFORE DELETE ON entries BEGIN
  SELECT RAISE(ABORT, 'an entry is never removed; add a correction');
END;

CREATE TRIGGER words_come_with_their_entry BEFORE INSERT ON words BEGIN
  SELECT RAISE(ABORT, 'words take the next line')
   WHERE NEW.line IS NOT (SELECT coalesce(max(line), 0) + 1 FROM words);
  SELECT RAISE(ABORT, 'words are kept together with their entry')
   WHERE NEW.number IS NOT (SELECT max(number) FROM entries);
  SELECT RAISE(ABORT, 'these words of the entry are already kept')
   WHERE EXISTS (SELECT 1 FROM words WHERE number = NEW.number AND name = NEW.name);
END;

CREATE TRIGGER words_are_never_changed BEFORE UPDATE ON words BEGIN
  SELECT RAISE(ABORT, 'kept words are never changed; add a correction');
END;

CREATE TRIGGER words_are_never_removed BEFORE DELETE ON words BEGIN
  SELECT RAISE(ABORT, 'kept words are never removed; add a correction');
END;

CREATE TRIGGER a_record_keeps_its_name BEFORE UPDATE ON record BEGIN
  SELECT RAISE(ABORT, 'a record keeps its id');
END;

CREATE TRIGGER a_record_is_not_emptied BEFORE DELETE ON record BEGIN
  SELECT RAISE(ABORT, 'a record keeps its id');
END;

CREATE TRIGGER a_record_has_one_id BEFORE INSERT ON record BEGIN
  SELECT RAISE(ABORT, 'a record keeps its id') WHERE EXISTS (SELECT 1 FROM record);
END;
