-- +goose Up
-- What closed jobs have taught, one line each; n counts from 1.
CREATE TABLE tally (
  n    INTEGER PRIMARY KEY,
  line TEXT NOT NULL
) STRICT;

-- What was kept cannot be taken away or replaced, whoever opens the database.
-- Only a job that came with the program can be removed.
-- +goose StatementBegin
CREATE TRIGGER entries_are_never_deleted BEFORE DELETE ON entries
WHEN NOT EXISTS (SELECT 1 FROM jobs WHERE id = OLD.job AND demo = 1)
BEGIN
  SELECT RAISE(ABORT, 'a journal entry is never deleted');
END;
-- +goose StatementEnd

-- REPLACE deletes without asking the trigger above.
-- +goose StatementBegin
CREATE TRIGGER entries_are_never_replaced BEFORE INSERT ON entries
WHEN EXISTS (SELECT 1 FROM entries WHERE job = NEW.job AND (seq = NEW.seq OR id = NEW.id))
BEGIN
  SELECT RAISE(ABORT, 'a journal entry is never replaced');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER files_are_never_changed BEFORE UPDATE ON files
BEGIN
  SELECT RAISE(ABORT, 'a log or photo is never changed');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER files_are_never_deleted BEFORE DELETE ON files
WHEN NOT EXISTS (SELECT 1 FROM jobs WHERE id = OLD.job AND demo = 1)
BEGIN
  SELECT RAISE(ABORT, 'a log or photo is never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER files_are_never_replaced BEFORE INSERT ON files
WHEN EXISTS (SELECT 1 FROM files WHERE job = NEW.job AND name = NEW.name)
BEGIN
  SELECT RAISE(ABORT, 'a log or photo is never replaced');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER jobs_are_never_deleted BEFORE DELETE ON jobs
WHEN OLD.demo = 0
BEGIN
  SELECT RAISE(ABORT, 'a job is never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER jobs_are_never_replaced BEFORE INSERT ON jobs
WHEN EXISTS (SELECT 1 FROM jobs WHERE id = NEW.id)
BEGIN
  SELECT RAISE(ABORT, 'a job is never replaced');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER tally_is_never_changed BEFORE UPDATE ON tally
BEGIN
  SELECT RAISE(ABORT, 'a line of the tally is never changed');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER tally_is_never_deleted BEFORE DELETE ON tally
BEGIN
  SELECT RAISE(ABORT, 'a line of the tally is never deleted');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER tally_is_never_replaced BEFORE INSERT ON tally
WHEN EXISTS (SELECT 1 FROM tally WHERE n = NEW.n)
BEGIN
  SELECT RAISE(ABORT, 'a line of the tally is never replaced');
END;
-- +goose StatementEnd

-- +goose Down
DROP TRIGGER tally_is_never_replaced;
DROP TRIGGER tally_is_never_deleted;
DROP TRIGGER tally_is_never_changed;
DROP TRIGGER jobs_are_never_replaced;
DROP TRIGGER jobs_are_never_deleted;
DROP TRIGGER files_are_never_replaced;
DROP TRIGGER files_are_never_deleted;
DROP TRIGGER files_are_never_changed;
DROP TRIGGER entries_are_never_replaced;
DROP TRIGGER entries_are_never_deleted;
DROP TABLE tally;
