CREATE TABLE entry (
  sequence INTEGER PRIMARY KEY,
  body BLOB NOT NULL,
  hash BLOB NOT NULL CHECK (length(hash) = 32),
  signature BLOB NOT NULL CHECK (length(signature) = 64)
) STRICT;
CREATE TABLE file (
  number INTEGER PRIMARY KEY,
  digest BLOB NOT NULL UNIQUE CHECK (length(digest) = 32),
  bytes BLOB NOT NULL
) STRICT;
CREATE TRIGGER entry_in_order BEFORE INSERT ON entry
WHEN NEW.sequence IS NOT (SELECT coalesce(max(sequence), 0) + 1 FROM entry)
BEGIN SELECT raise(ABORT, 'entries are added in order'); END;
CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry
BEGIN SELECT raise(ABORT, 'an entry is never changed'); END;
CREATE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry
BEGIN SELECT raise(ABORT, 'an entry is never deleted'); END;
CREATE TRIGGER file_in_order BEFORE INSERT ON file
WHEN NEW.number IS NOT (SELECT coalesce(max(number), 0) + 1 FROM file)
BEGIN SELECT raise(ABORT, 'files are added in order'); END;
CREATE TRIGGER file_is_never_changed BEFORE UPDATE ON file
BEGIN SELECT raise(ABORT, 'a file is never changed'); END;
CREATE TRIGGER file_is_never_deleted BEFORE DELETE ON file
BEGIN SELECT raise(ABORT, 'a file is never deleted'); END;
CREATE TABLE tools (
  id TEXT PRIMARY KEY, customer TEXT, maker TEXT, model TEXT, serial TEXT, kind TEXT, last_performed TEXT, due TEXT
) STRICT, WITHOUT ROWID;
CREATE TABLE reference_standards (
  id TEXT PRIMARY KEY, certificate TEXT, calibrated TEXT, due TEXT, uses INTEGER, uses_allowed INTEGER
) STRICT, WITHOUT ROWID;
CREATE TABLE jobs (
  id TEXT PRIMARY KEY, state TEXT, customer TEXT, tool TEXT, rulebook TEXT, received TEXT, runs INTEGER,
  verdict TEXT, certificate TEXT
) STRICT, WITHOUT ROWID;
CREATE TABLE certificates (
  series TEXT, number INTEGER, job TEXT, tool TEXT, state TEXT, issued TEXT, author TEXT, replaces TEXT,
  PRIMARY KEY (series, number)
) STRICT, WITHOUT ROWID;
