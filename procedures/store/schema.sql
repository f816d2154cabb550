-- Format 1 of the record store. Statements here run once, in one transaction,
-- when the file is made. Hashes and job ids are text, as in the lines, so that
-- the file can be read with any SQLite shell; moments are ms since 1970, UTC.

CREATE TABLE jobs (             -- one row a job, folded from its events
  job       TEXT    NOT NULL PRIMARY KEY,
  asset     TEXT    NOT NULL,
  number    INTEGER NOT NULL CHECK (number >= 1),
  title     TEXT    NOT NULL,
  procedure TEXT    NOT NULL,
  state     TEXT    NOT NULL,
  operator  TEXT    NOT NULL,
  created   INTEGER NOT NULL,
  updated   INTEGER NOT NULL,
  events    INTEGER NOT NULL CHECK (events >= 1),
  head      TEXT    NOT NULL CHECK (length(head) = 64),
  demo      INTEGER NOT NULL CHECK (demo IN (0, 1)),
  UNIQUE (asset, number)
) STRICT, WITHOUT ROWID;

CREATE TABLE events (           -- the lines of package record
  job  TEXT    NOT NULL REFERENCES jobs (job),
  seq  INTEGER NOT NULL CHECK (seq >= 1),
  line TEXT    NOT NULL,
  PRIMARY KEY (job, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE blobs (
  digest TEXT NOT NULL PRIMARY KEY CHECK (length(digest) = 64),
  data   BLOB NOT NULL
) STRICT;

-- Every list is ordered by created, then job, which ends each index unwritten.
CREATE INDEX jobs_by_created        ON jobs (created);
CREATE INDEX jobs_by_asset          ON jobs (asset, created);
CREATE INDEX jobs_by_state          ON jobs (state, created);
CREATE INDEX jobs_by_operator       ON jobs (operator, created);
CREATE INDEX jobs_by_operator_state ON jobs (operator, state, created);

-- A list with several filters must begin with the narrowest: an asset has few
-- jobs, an operator many, a state may have nearly all. These are the rows that
-- ANALYZE would write for a workshop of 100,000 jobs.
ANALYZE;
INSERT INTO sqlite_stat1 (tbl, idx, stat) VALUES
  ('jobs', 'jobs',                        '100000 1'),
  ('jobs', 'sqlite_autoindex_jobs_2',     '100000 20 1'),
  ('jobs', 'jobs_by_created',             '100000 1'),
  ('jobs', 'jobs_by_asset',               '100000 20 1'),
  ('jobs', 'jobs_by_state',               '100000 30000 1'),
  ('jobs', 'jobs_by_operator',            '100000 10000 1'),
  ('jobs', 'jobs_by_operator_state',      '100000 10000 3000 1');
ANALYZE sqlite_schema; -- reads them

-- Nothing that was appended is changed or removed. An insert that replaces a
-- row removes it without a delete trigger, so inserts are watched as well.
CREATE TRIGGER events_follow BEFORE INSERT ON events
  WHEN NEW.seq <> 1 + coalesce((SELECT max(seq) FROM events WHERE job = NEW.job), 0)
  BEGIN SELECT raise(ABORT, 'an event goes after the last one'); END;
CREATE TRIGGER events_stay BEFORE UPDATE ON events
  BEGIN SELECT raise(ABORT, 'events are never changed'); END;
CREATE TRIGGER events_remain BEFORE DELETE ON events
  BEGIN SELECT raise(ABORT, 'events are never removed'); END;
CREATE TRIGGER blobs_once BEFORE INSERT ON blobs
  WHEN EXISTS (SELECT 1 FROM blobs WHERE digest = NEW.digest)
  BEGIN SELECT raise(IGNORE); END;
CREATE TRIGGER blobs_stay BEFORE UPDATE ON blobs
  BEGIN SELECT raise(ABORT, 'blobs are never changed'); END;
CREATE TRIGGER blobs_remain BEFORE DELETE ON blobs
  BEGIN SELECT raise(ABORT, 'blobs are never removed'); END;
CREATE TRIGGER jobs_once BEFORE INSERT ON jobs
  WHEN EXISTS (SELECT 1 FROM jobs WHERE job = NEW.job OR (asset = NEW.asset AND number = NEW.number))
  BEGIN SELECT raise(ABORT, 'this job, or its number, is here already'); END;
CREATE TRIGGER jobs_stay BEFORE UPDATE OF job, asset, number, title, procedure, created, demo ON jobs
  BEGIN SELECT raise(ABORT, 'what a job was created with is never changed'); END;
CREATE TRIGGER jobs_remain BEFORE DELETE ON jobs
  BEGIN SELECT raise(ABORT, 'jobs are never removed'); END;
