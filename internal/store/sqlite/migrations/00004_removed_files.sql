-- +goose Up
-- A log or photo can be taken away when the journal says so first.
DROP TRIGGER files_are_never_deleted;

-- +goose StatementBegin
CREATE TRIGGER files_are_never_deleted BEFORE DELETE ON files
WHEN NOT EXISTS (SELECT 1 FROM jobs WHERE id = OLD.job AND demo = 1)
 AND NOT EXISTS (SELECT 1 FROM entries WHERE job = OLD.job AND kind = 'removed' AND json_extract(body, '$.file') = OLD.name)
BEGIN
  SELECT RAISE(ABORT, 'a log or photo is never deleted without an entry that says so');
END;
-- +goose StatementEnd

-- +goose Down
DROP TRIGGER files_are_never_deleted;

-- +goose StatementBegin
CREATE TRIGGER files_are_never_deleted BEFORE DELETE ON files
WHEN NOT EXISTS (SELECT 1 FROM jobs WHERE id = OLD.job AND demo = 1)
BEGIN
  SELECT RAISE(ABORT, 'a log or photo is never deleted');
END;
-- +goose StatementEnd
