-- +goose Up
-- Times are milliseconds since 1970, UTC. Ids are text, so that another engine
-- can keep the same.
CREATE TABLE jobs (
  id        TEXT PRIMARY KEY,
  name      TEXT NOT NULL,
  car       TEXT NOT NULL,
  complaint TEXT NOT NULL,
  search    TEXT NOT NULL,
  findings  INTEGER NOT NULL DEFAULT 0,
  seq       INTEGER NOT NULL,
  archived  INTEGER NOT NULL DEFAULT 0,
  demo      INTEGER NOT NULL DEFAULT 0,
  changed   INTEGER NOT NULL
) STRICT;
CREATE INDEX jobs_changed ON jobs (archived, changed DESC);

-- The journal: rows are added, never updated.
CREATE TABLE entries (
  job     TEXT NOT NULL REFERENCES jobs (id),
  seq     INTEGER NOT NULL,
  id      TEXT NOT NULL,
  at      INTEGER NOT NULL,
  entered INTEGER NOT NULL,
  who     TEXT NOT NULL,
  kind    TEXT NOT NULL,
  finding TEXT NOT NULL,
  seen    INTEGER NOT NULL,
  body    TEXT NOT NULL,
  PRIMARY KEY (job, seq),
  UNIQUE (job, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE files (
  job     TEXT NOT NULL REFERENCES jobs (id),
  name    TEXT NOT NULL,
  type    TEXT NOT NULL,
  size    INTEGER NOT NULL,
  sha256  TEXT NOT NULL,
  at      INTEGER NOT NULL,
  who     TEXT NOT NULL,
  content BLOB NOT NULL,
  PRIMARY KEY (job, name)
) STRICT;

CREATE TABLE settings (
  key   TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- +goose StatementBegin
CREATE TRIGGER entries_are_never_changed BEFORE UPDATE ON entries
BEGIN
  SELECT RAISE(ABORT, 'a journal entry is never changed');
END;
-- +goose StatementEnd

-- +goose Down
DROP TABLE settings;
DROP TABLE files;
DROP TABLE entries;
DROP TABLE jobs;
