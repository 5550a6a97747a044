-- Version 2: a record that was restored onto another laptop. Laid over schema.sql when the restored file is made, before any entry.
--
-- Each run after the first has a row: its first number, the last number of the run before that the restore had, and the head there.
-- A number that the laptop before may have given to somebody is never given again: so the first entry of a run jumps.

PRAGMA user_version = 2;

CREATE TABLE runs (
  run INTEGER PRIMARY KEY CHECK (run > 1),
  first INTEGER NOT NULL,
  last INTEGER NOT NULL,
  head BLOB NOT NULL CHECK (length(head) = 32),
  CHECK (first > last)
) STRICT;

DROP TRIGGER entries_are_added_at_the_end;

CREATE TRIGGER entries_are_added_at_the_end BEFORE INSERT ON entries BEGIN
  SELECT RAISE(ABORT, 'an entry takes the next number')
   WHERE NEW.number IS NOT coalesce(
     (SELECT first FROM runs WHERE run = (SELECT max(run) FROM runs) AND NOT EXISTS (SELECT 1 FROM entries WHERE number >= runs.first)),
     (SELECT coalesce(max(number), 0) + 1 FROM entries));
  SELECT RAISE(ABORT, 'an entry continues from the newest head')
   WHERE EXISTS (SELECT 1 FROM entries)
     AND NEW.prev IS NOT (SELECT head FROM entries ORDER BY number DESC LIMIT 1);
  SELECT RAISE(ABORT, 'this id is already an entry')
   WHERE EXISTS (SELECT 1 FROM entries WHERE id = NEW.id);
  SELECT RAISE(ABORT, 'this line of the tablet is already an entry')
   WHERE EXISTS (SELECT 1 FROM entries WHERE tablet = NEW.tablet AND seq = NEW.seq AND seq > 0);
END;

CREATE TRIGGER runs_follow_one_another BEFORE INSERT ON runs BEGIN
  SELECT RAISE(ABORT, 'a run is one more than the run before')
   WHERE NEW.run IS NOT (SELECT coalesce(max(run), 1) + 1 FROM runs);
  SELECT RAISE(ABORT, 'a run goes on from the newest entry')
   WHERE NEW.last IS NOT (SELECT coalesce(max(number), 0) FROM entries)
      OR EXISTS (SELECT 1 FROM entries) AND NEW.head IS NOT (SELECT head FROM entries ORDER BY number DESC LIMIT 1);
END;

CREATE TRIGGER runs_are_never_changed BEFORE UPDATE ON runs BEGIN
  SELECT RAISE(ABORT, 'a run is never changed');
END;

CREATE TRIGGER runs_are_never_removed BEFORE DELETE ON runs BEGIN
  SELECT RAISE(ABORT, 'a run is never removed');
END;
