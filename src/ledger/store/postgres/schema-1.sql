CREATE TABLE ledger (
  application text COLLATE "C" NOT NULL, version bigint NOT NULL
);
CREATE TABLE writing (held boolean);
CREATE TABLE entry (
  sequence bigint PRIMARY KEY,
  body bytea NOT NULL,
  hash bytea NOT NULL CHECK (length(hash) = 32),
  signature bytea NOT NULL CHECK (length(signature) = 64)
);
CREATE TABLE file (
  number bigint PRIMARY KEY,
  digest bytea NOT NULL UNIQUE CHECK (length(digest) = 32),
  bytes bytea NOT NULL
);
CREATE FUNCTION entry_in_order() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE last bigint;
BEGIN
  EXECUTE format('SELECT coalesce(max(sequence), 0) FROM %I.entry', TG_TABLE_SCHEMA) INTO last;
  IF NEW.sequence IS DISTINCT FROM last + 1 THEN RAISE EXCEPTION 'entries are added in order'; END IF;
  RETURN NEW;
END $$;
CREATE FUNCTION file_in_order() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE last bigint;
BEGIN
  EXECUTE format('SELECT coalesce(max(number), 0) FROM %I.file', TG_TABLE_SCHEMA) INTO last;
  IF NEW.number IS DISTINCT FROM last + 1 THEN RAISE EXCEPTION 'files are added in order'; END IF;
  RETURN NEW;
END $$;
CREATE FUNCTION is_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION 'what is kept in % is never changed or deleted', TG_TABLE_NAME;
END $$;
CREATE TRIGGER entry_in_order BEFORE INSERT ON entry FOR EACH ROW EXECUTE FUNCTION entry_in_order();
CREATE TRIGGER entry_is_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON entry EXECUTE FUNCTION is_kept();
CREATE TRIGGER file_in_order BEFORE INSERT ON file FOR EACH ROW EXECUTE FUNCTION file_in_order();
CREATE TRIGGER file_is_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON file EXECUTE FUNCTION is_kept();
ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_in_order, ENABLE ALWAYS TRIGGER entry_is_kept;
ALTER TABLE file ENABLE ALWAYS TRIGGER file_in_order, ENABLE ALWAYS TRIGGER file_is_kept;
CREATE TABLE tools (
  id text COLLATE "C" PRIMARY KEY, customer text COLLATE "C", maker text COLLATE "C", model text COLLATE "C",
  serial text COLLATE "C", kind text COLLATE "C", last_performed text COLLATE "C", due text COLLATE "C"
);
CREATE TABLE reference_standards (
  id text COLLATE "C" PRIMARY KEY, certificate text COLLATE "C", calibrated text COLLATE "C",
  due text COLLATE "C", uses bigint, uses_allowed bigint
);
CREATE TABLE jobs (
  id text COLLATE "C" PRIMARY KEY, state text COLLATE "C", customer text COLLATE "C", tool text COLLATE "C",
  rulebook text COLLATE "C", received text COLLATE "C", runs bigint, verdict text COLLATE "C",
  certificate text COLLATE "C"
);
CREATE TABLE certificates (
  series text COLLATE "C", number bigint, job text COLLATE "C", tool text COLLATE "C", state text COLLATE "C",
  issued text COLLATE "C", author text COLLATE "C", replaces text COLLATE "C", PRIMARY KEY (series, number)
);
