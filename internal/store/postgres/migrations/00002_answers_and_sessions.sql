-- +goose Up
CREATE TABLE answers (
  job     TEXT PRIMARY KEY REFERENCES jobs (id),
  seq     BIGINT NOT NULL,
  stage   TEXT NOT NULL,
  verdict TEXT NOT NULL,
  body    TEXT NOT NULL
);

CREATE TABLE sessions (
  token   TEXT PRIMARY KEY,
  who     TEXT NOT NULL,
  expires BIGINT NOT NULL
);

-- +goose Down
DROP TABLE sessions;
DROP TABLE answers;
