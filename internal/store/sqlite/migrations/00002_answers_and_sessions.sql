-- +goose Up
-- The newest judgement of each job; it can always be made again.
CREATE TABLE answers (
  job     TEXT PRIMARY KEY REFERENCES jobs (id),
  seq     INTEGER NOT NULL,
  stage   TEXT NOT NULL,
  verdict TEXT NOT NULL,
  body    TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE sessions (
  token   TEXT PRIMARY KEY,
  who     TEXT NOT NULL,
  expires INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE sessions;
DROP TABLE answers;
