-- +goose Up
CREATE TABLE tally (
  n    BIGINT PRIMARY KEY,
  line TEXT NOT NULL
);

-- Which bench works out which answer. until is by the database's own clock, so
-- that benches whose clocks differ agree.
CREATE TABLE work (
  job   TEXT PRIMARY KEY,
  seq   BIGINT NOT NULL,
  bench TEXT NOT NULL,
  until TIMESTAMP WITH TIME ZONE NOT NULL
);

-- +goose Down
DROP TABLE work;
DROP TABLE tally;
