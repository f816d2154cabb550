-- Format 1 of the shared store, in the schema daytank. It is that of the file, format 3,
-- with what many writers need: who may do what, and an append that the server makes
-- itself. Moments are ms since 1970, UTC. In names a NUL stands as \0 and a backslash
-- as \\, since the engine keeps no NUL in a text; the lines have none.

CREATE TABLE identity (
  one    boolean NOT NULL PRIMARY KEY DEFAULT true CHECK (one),
  mark   text    NOT NULL,          -- says that this is a store of records
  format integer NOT NULL,
  id     uuid    NOT NULL DEFAULT gen_random_uuid()
);

CREATE TABLE jobs (                 -- one row a job, folded from its events
  job       uuid    NOT NULL PRIMARY KEY,
  asset     text    COLLATE "C" NOT NULL,
  number    bigint  NOT NULL CHECK (number >= 1),
  title     text    NOT NULL,
  procedure text    NOT NULL,
  state     text    COLLATE "C" NOT NULL,
  operator  text    COLLATE "C" NOT NULL,
  created   bigint  NOT NULL,
  updated   bigint  NOT NULL,
  events    bigint  NOT NULL CHECK (events >= 1),
  head      text    NOT NULL CHECK (length(head) = 64),
  demo      boolean NOT NULL,
  weight    bigint  NOT NULL CHECK (weight >= 0),
  holder    uuid                    -- the store that holds it; null: the bay that began it
) WITH (fillfactor = 90);           -- room for the next state of a row beside it

CREATE TABLE events (               -- the lines of package record
  job  uuid   NOT NULL REFERENCES jobs (job),
  seq  bigint NOT NULL CHECK (seq >= 1),
  line text   NOT NULL,
  PRIMARY KEY (job, seq)
);

CREATE TABLE blobs (
  digest text  NOT NULL PRIMARY KEY CHECK (digest = encode(sha256(data), 'hex')),
  data   bytea NOT NULL
);

-- Every list is ordered by created, then job. Two bays without network may give an
-- asset's next number both, so that a number is no key here.
CREATE INDEX jobs_by_number         ON jobs (asset, number);
CREATE INDEX jobs_by_created        ON jobs (created, job);
CREATE INDEX jobs_by_asset          ON jobs (asset, created, job);
CREATE INDEX jobs_by_state          ON jobs (state, created, job);
CREATE INDEX jobs_by_state_weight   ON jobs (state, weight, created, job);
CREATE INDEX jobs_by_operator       ON jobs (operator, created, job);
CREATE INDEX jobs_by_operator_state ON jobs (operator, state, created, job);
CREATE INDEX jobs_by_holder         ON jobs (holder, created, job) WHERE holder IS NOT NULL;

-- Nothing that was appended is changed or removed, not by the owner either: this
-- guards against mistakes. Rows of jobs may be folded again.
CREATE FUNCTION stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '% is never changed or removed', TG_TABLE_NAME;
END
$$;
CREATE TRIGGER events_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON events
  FOR EACH STATEMENT EXECUTE FUNCTION stays();
CREATE TRIGGER blobs_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON blobs
  FOR EACH STATEMENT EXECUTE FUNCTION stays();
CREATE TRIGGER jobs_remain BEFORE DELETE OR TRUNCATE ON jobs
  FOR EACH STATEMENT EXECUTE FUNCTION stays();
CREATE TRIGGER jobs_stay BEFORE UPDATE OF job, asset, number, title, procedure, created, demo ON jobs
  FOR EACH STATEMENT EXECUTE FUNCTION stays();
CREATE TRIGGER identity_stays BEFORE DELETE OR TRUNCATE OR UPDATE OF one, mark, id ON identity
  FOR EACH STATEMENT EXECUTE FUNCTION stays();

-- The head after a line that stands at a place behind a head. A line that does not
-- belong there is refused: its last members are those of package record, in their
-- order, none over 340 characters together; its hash is that of the line without it.
CREATE FUNCTION head_after(job_ uuid, seq_ bigint, head_ text, line text) RETURNS text
  LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
  m text[] := regexp_match(right(line, 340),
    '"hash":"([0-9a-f]{64})","job":"([0-9a-f-]{36})","kind":"[a-z ]+","mono_ms":[0-9]+,"prev":"([0-9a-f]{64})","run":"[0-9a-f-]{36}","seq":([0-9]+)\}$');
BEGIN
  IF m IS NULL OR m[2] <> job_::text OR m[3] <> head_ OR m[4] <> seq_::text OR m[1] <>
     encode(sha256(convert_to(replace(line, '"hash":"' || m[1] || '","job":', '"job":'), 'UTF8')), 'hex') THEN
    RAISE EXCEPTION 'job %: event % does not follow the one before, or was altered', job_, seq_
      USING ERRCODE = 'DT001';
  END IF;
  RETURN m[1];
END
$$;

-- What a line says about who holds the job from then on; null: nothing. It is looked for
-- in the text: as JSON the engine refuses a NUL in a name. Quotes in names are escaped, so
-- that only a member looks like one.
CREATE FUNCTION holder_by(line text) RETURNS uuid LANGUAGE sql IMMUTABLE AS $$
  SELECT CASE WHEN right(line, 340) ~ '","kind":"transferred","mono_ms":[0-9]+,"prev":"[0-9a-f]{64}","run":"[0-9a-f-]{36}","seq":[0-9]+\}$'
    THEN substring(line FROM '"to_id":"([0-9a-f-]{36})"')::uuid END
$$;

-- Appends lines to a job at a head, and says what came of it: kept, moved, unknown,
-- number taken, not held. The row is what the whole chain folds into. Copied are lines
-- that another store wrote while it held the job; others this store writes itself. It
-- runs with the rights of its owner, which is how a bay appends that may change nothing.
CREATE FUNCTION append(
  job_ uuid, seq_ bigint, head_ text, lines text[], copied boolean,
  asset_ text, number_ bigint, title_ text, procedure_ text, state_ text, operator_ text,
  created_ bigint, updated_ bigint, demo_ boolean, weight_ bigint
) RETURNS text LANGUAGE plpgsql SECURITY DEFINER SET search_path = daytank, pg_temp AS $$
DECLARE
  here uuid := (SELECT id FROM identity);
  was  jobs;
  held uuid;
  head_now text := head_;
  seq_now bigint := seq_;
  line text;
  begins boolean;
BEGIN
  PERFORM pg_advisory_xact_lock(hashtextextended(job_::text, 0));
  SELECT * INTO was FROM jobs WHERE job = job_;
  begins := NOT FOUND;
  IF begins THEN
    IF seq_ <> 0 THEN
      RETURN 'unknown';
    END IF;
    head_now := encode(sha256(convert_to(job_::text, 'UTF8')), 'hex');
    IF NOT copied THEN
      PERFORM pg_advisory_xact_lock(hashtextextended(asset_, 1));
      IF EXISTS (SELECT FROM jobs WHERE asset = asset_ AND number = number_) THEN
        RETURN 'number taken';
      END IF;
      held := here;
    END IF;
  ELSIF was.events <> seq_ OR was.head <> head_ THEN
    RETURN 'moved';
  ELSE
    held := was.holder;
  END IF;

  FOREACH line IN ARRAY lines LOOP
    IF copied = (held IS NOT DISTINCT FROM here) THEN
      RETURN 'not held';
    END IF;
    seq_now := seq_now + 1;
    head_now := head_after(job_, seq_now, head_now, line);
    held := coalesce(holder_by(line), held);
  END LOOP;
  IF begins THEN
    INSERT INTO jobs VALUES (job_, asset_, number_, title_, procedure_, state_, operator_,
      created_, updated_, seq_now, head_now, demo_, weight_, held);
  ELSE
    UPDATE jobs SET updated = updated_, events = seq_now, head = head_now, state = state_,
      operator = operator_, weight = weight_, holder = held WHERE job = job_;
  END IF;
  INSERT INTO events SELECT job_, seq_ + place, added FROM unnest(lines) WITH ORDINALITY AS list (added, place);
  RETURN 'kept';
END
$$;

-- Who may do what. A bay reads, appends by the function, and adds blobs.
REVOKE ALL ON ALL FUNCTIONS IN SCHEMA daytank FROM PUBLIC;
GRANT USAGE ON SCHEMA daytank TO daytank_bay, daytank_reader;
GRANT SELECT ON ALL TABLES IN SCHEMA daytank TO daytank_bay, daytank_reader;
GRANT INSERT ON blobs TO daytank_bay;
GRANT EXECUTE ON FUNCTION append TO daytank_bay;

INSERT INTO identity (mark, format) VALUES ('daytank records', 1);
