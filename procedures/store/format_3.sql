-- Format 3: what tells this store from every other: a random UUID (RFC 9562, version 4),
-- made with the file. It says which store holds a job where several share their records.

CREATE TABLE identity (
  one INTEGER NOT NULL PRIMARY KEY CHECK (one = 1),
  id  TEXT    NOT NULL CHECK (length(id) = 36)
) STRICT;

INSERT INTO identity (one, id)
  SELECT 1, lower(substr(h, 1, 8) || '-' || substr(h, 9, 4) || '-4' || substr(h, 14, 3) || '-' ||
    substr('89ab', 1 + abs(random() % 4), 1) || substr(h, 18, 3) || '-' || substr(h, 21, 12))
  FROM (SELECT hex(randomblob(16)) AS h);

CREATE TRIGGER identity_stays BEFORE UPDATE ON identity
  BEGIN SELECT raise(ABORT, 'a store keeps its identity'); END;
CREATE TRIGGER identity_remains BEFORE DELETE ON identity
  BEGIN SELECT raise(ABORT, 'a store keeps its identity'); END;
CREATE TRIGGER identity_once BEFORE INSERT ON identity
  WHEN EXISTS (SELECT 1 FROM identity)
  BEGIN SELECT raise(ABORT, 'a store keeps its identity'); END
