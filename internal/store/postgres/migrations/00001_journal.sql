-- +goose Up
-- The same tables and columns as in the SQLite store; package sqlstore speaks to
-- both. Times are milliseconds since 1970, UTC.
CREATE TABLE jobs (
  id        TEXT PRIMARY KEY,
  name      TEXT NOT NULL,
  car       TEXT NOT NULL,
  complaint TEXT NOT NULL,
  search    TEXT NOT NULL,
  findings  BIGINT NOT NULL DEFAULT 0,
  seq       BIGINT NOT NULL,
  archived  BIGINT NOT NULL DEFAULT 0,
  demo      BIGINT NOT NULL DEFAULT 0,
  changed   BIGINT NOT NULL
);
CREATE INDEX jobs_changed ON jobs (archived, changed DESC, id DESC);

-- The journal: rows are added, never updated.
CREATE TABLE entries (
  job     TEXT NOT NULL REFERENCES jobs (id),
  seq     BIGINT NOT NULL,
  id      TEXT NOT NULL,
  at      BIGINT NOT NULL,
  entered BIGINT NOT NULL,
  who     TEXT NOT NULL,
  kind    TEXT NOT NULL,
  finding TEXT NOT NULL,
  seen    BIGINT NOT NULL,
  body    TEXT NOT NULL,
  PRIMARY KEY (job, seq),
  UNIQUE (job, id)
);

CREATE TABLE files (
  job     TEXT NOT NULL REFERENCES jobs (id),
  name    TEXT NOT NULL,
  type    TEXT NOT NULL,
  size    BIGINT NOT NULL,
  sha256  TEXT NOT NULL,
  at      BIGINT NOT NULL,
  who     TEXT NOT NULL,
  content BYTEA NOT NULL,
  arrival BIGINT GENERATED ALWAYS AS IDENTITY,
  PRIMARY KEY (job, name)
);

CREATE TABLE settings (
  key   TEXT PRIMARY KEY,
  value TEXT NOT NULL
);

-- +goose Down
DROP TABLE settings;
DROP TABLE files;
DROP TABLE entries;
DROP TABLE jobs;
