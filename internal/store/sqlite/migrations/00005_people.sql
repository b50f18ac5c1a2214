-- +goose Up
-- A file holds one shop, which is called ''. The column is there so that the same
-- statements serve a database that holds several.
ALTER TABLE jobs ADD COLUMN shop TEXT NOT NULL DEFAULT '';
ALTER TABLE entries ADD COLUMN shop TEXT NOT NULL DEFAULT '';
ALTER TABLE files ADD COLUMN shop TEXT NOT NULL DEFAULT '';
ALTER TABLE answers ADD COLUMN shop TEXT NOT NULL DEFAULT '';
ALTER TABLE settings ADD COLUMN shop TEXT NOT NULL DEFAULT '';
ALTER TABLE tally ADD COLUMN shop TEXT NOT NULL DEFAULT '';
CREATE UNIQUE INDEX answers_of_shop ON answers (shop, job);
CREATE UNIQUE INDEX settings_of_shop ON settings (shop, key);

-- People with a secret of their own, and what they may do in a shop. secret is a
-- slow hash.
CREATE TABLE people (
  id     TEXT PRIMARY KEY,
  name   TEXT NOT NULL,
  secret TEXT NOT NULL,
  since  INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE members (
  shop   TEXT NOT NULL DEFAULT '',
  person TEXT NOT NULL REFERENCES people (id),
  role   TEXT NOT NULL CHECK (role IN ('owner', 'mechanic', 'viewer')),
  since  INTEGER NOT NULL,
  PRIMARY KEY (shop, person)
) STRICT, WITHOUT ROWID;

-- token is a hash of what the link holds.
CREATE TABLE invitations (
  token   TEXT PRIMARY KEY,
  shop    TEXT NOT NULL DEFAULT '',
  name    TEXT NOT NULL,
  role    TEXT NOT NULL CHECK (role IN ('owner', 'mechanic', 'viewer')),
  inviter TEXT NOT NULL,
  expires INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- person '' is a device that was let in with the shop's passphrase.
ALTER TABLE sessions ADD COLUMN shop TEXT NOT NULL DEFAULT '';
ALTER TABLE sessions ADD COLUMN person TEXT NOT NULL DEFAULT '';
ALTER TABLE sessions ADD COLUMN device TEXT NOT NULL DEFAULT '';
ALTER TABLE sessions ADD COLUMN began INTEGER NOT NULL DEFAULT 0;
ALTER TABLE sessions ADD COLUMN seen INTEGER NOT NULL DEFAULT 0;

-- +goose Down
ALTER TABLE sessions DROP COLUMN seen;
ALTER TABLE sessions DROP COLUMN began;
ALTER TABLE sessions DROP COLUMN device;
ALTER TABLE sessions DROP COLUMN person;
ALTER TABLE sessions DROP COLUMN shop;
DROP TABLE invitations;
DROP TABLE members;
DROP TABLE people;
DROP INDEX settings_of_shop;
DROP INDEX answers_of_shop;
ALTER TABLE tally DROP COLUMN shop;
ALTER TABLE settings DROP COLUMN shop;
ALTER TABLE answers DROP COLUMN shop;
ALTER TABLE files DROP COLUMN shop;
ALTER TABLE entries DROP COLUMN shop;
ALTER TABLE jobs DROP COLUMN shop;
