-- +goose Up
-- What was kept before belongs to the shop "main". Every key begins with the shop,
-- so shops cannot take names from one another.
CREATE TABLE shops (
  id    TEXT PRIMARY KEY,
  name  TEXT NOT NULL,
  since BIGINT NOT NULL
);
INSERT INTO shops (id, name, since) VALUES ('main', '', 0);

ALTER TABLE jobs ADD COLUMN shop TEXT NOT NULL DEFAULT 'main' REFERENCES shops (id);
ALTER TABLE entries ADD COLUMN shop TEXT NOT NULL DEFAULT 'main';
ALTER TABLE files ADD COLUMN shop TEXT NOT NULL DEFAULT 'main';
ALTER TABLE answers ADD COLUMN shop TEXT NOT NULL DEFAULT 'main';
ALTER TABLE settings ADD COLUMN shop TEXT NOT NULL DEFAULT 'main' REFERENCES shops (id);
ALTER TABLE tally ADD COLUMN shop TEXT NOT NULL DEFAULT 'main' REFERENCES shops (id);
ALTER TABLE work ADD COLUMN shop TEXT NOT NULL DEFAULT 'main';

ALTER TABLE entries DROP CONSTRAINT entries_job_fkey;
ALTER TABLE files DROP CONSTRAINT files_job_fkey;
ALTER TABLE answers DROP CONSTRAINT answers_job_fkey;
ALTER TABLE jobs DROP CONSTRAINT jobs_pkey;
ALTER TABLE jobs ADD PRIMARY KEY (shop, id);
ALTER TABLE entries DROP CONSTRAINT entries_pkey;
ALTER TABLE entries DROP CONSTRAINT entries_job_id_key;
ALTER TABLE entries ADD PRIMARY KEY (shop, job, seq);
ALTER TABLE entries ADD UNIQUE (shop, job, id);
ALTER TABLE entries ADD FOREIGN KEY (shop, job) REFERENCES jobs (shop, id);
ALTER TABLE files DROP CONSTRAINT files_pkey;
ALTER TABLE files ADD PRIMARY KEY (shop, job, name);
ALTER TABLE files ADD FOREIGN KEY (shop, job) REFERENCES jobs (shop, id);
ALTER TABLE answers DROP CONSTRAINT answers_pkey;
ALTER TABLE answers ADD PRIMARY KEY (shop, job);
ALTER TABLE answers ADD FOREIGN KEY (shop, job) REFERENCES jobs (shop, id);
ALTER TABLE settings DROP CONSTRAINT settings_pkey;
ALTER TABLE settings ADD PRIMARY KEY (shop, key);
ALTER TABLE tally DROP CONSTRAINT tally_pkey;
ALTER TABLE tally ADD PRIMARY KEY (shop, n);
ALTER TABLE work DROP CONSTRAINT work_pkey;
ALTER TABLE work ADD PRIMARY KEY (shop, job);

DROP INDEX jobs_changed;
CREATE INDEX jobs_changed ON jobs (shop, archived, changed DESC, id DESC);

-- From here on every row says whose it is.
ALTER TABLE jobs ALTER COLUMN shop DROP DEFAULT;
ALTER TABLE entries ALTER COLUMN shop DROP DEFAULT;
ALTER TABLE files ALTER COLUMN shop DROP DEFAULT;
ALTER TABLE answers ALTER COLUMN shop DROP DEFAULT;
ALTER TABLE settings ALTER COLUMN shop DROP DEFAULT;
ALTER TABLE tally ALTER COLUMN shop DROP DEFAULT;
ALTER TABLE work ALTER COLUMN shop DROP DEFAULT;

CREATE TABLE people (
  id     TEXT PRIMARY KEY,
  name   TEXT NOT NULL,
  secret TEXT NOT NULL,
  since  BIGINT NOT NULL
);

CREATE TABLE members (
  shop   TEXT NOT NULL REFERENCES shops (id),
  person TEXT NOT NULL REFERENCES people (id),
  role   TEXT NOT NULL CHECK (role IN ('owner', 'mechanic', 'viewer')),
  since  BIGINT NOT NULL,
  PRIMARY KEY (shop, person)
);
CREATE INDEX members_person ON members (person);

CREATE TABLE invitations (
  token   TEXT PRIMARY KEY,
  shop    TEXT NOT NULL REFERENCES shops (id),
  name    TEXT NOT NULL,
  role    TEXT NOT NULL CHECK (role IN ('owner', 'mechanic', 'viewer')),
  inviter TEXT NOT NULL,
  expires BIGINT NOT NULL
);

ALTER TABLE sessions ADD COLUMN shop TEXT NOT NULL DEFAULT 'main' REFERENCES shops (id);
ALTER TABLE sessions ALTER COLUMN shop DROP DEFAULT;
ALTER TABLE sessions ADD COLUMN person TEXT NOT NULL DEFAULT '';
ALTER TABLE sessions ADD COLUMN device TEXT NOT NULL DEFAULT '';
ALTER TABLE sessions ADD COLUMN began BIGINT NOT NULL DEFAULT 0;
ALTER TABLE sessions ADD COLUMN seen BIGINT NOT NULL DEFAULT 0;
CREATE INDEX sessions_person ON sessions (person);

-- +goose Down
-- Nothing: several shops do not fit into the schema before. A backup does.
