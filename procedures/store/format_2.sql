-- Format 2: how much a job weighs with whoever reviews it, folded from its events as in
-- package record (RankOf, Weight): a thousand times the worst rank, and the number of
-- points, for the queue, worst first.

ALTER TABLE jobs ADD COLUMN weight INTEGER NOT NULL DEFAULT 0 CHECK (weight >= 0);

UPDATE jobs SET weight = coalesce((
  SELECT 1000 * max(rank) + min(999, sum(rank > 1))
  FROM (
    SELECT CASE line ->> '$.kind'
      WHEN 'created'       THEN iif(line ->> '$.body.own', 10, 0)
      WHEN 'transcribed'   THEN 9
      WHEN 'emergency'     THEN 8
      WHEN 'alarm'         THEN iif(line ->> '$.body.mild', 2, 7)
      WHEN 'hold released' THEN iif(line ->> '$.body.by' = line ->> '$.by', 6, iif(line ->> '$.body.proved', 0, 4))
      WHEN 'step skipped'  THEN 5
      WHEN 'deviation'     THEN 5
      WHEN 'amended'       THEN 5
      WHEN 'recalled'      THEN 8
      WHEN 'step reopened' THEN iif(line ->> '$.body.reason' LIKE 'to be proved again%', 3, 0)
      WHEN 'observation'   THEN iif(line ->> '$.body.what' LIKE 'no proof: %', 3, 0)
      WHEN 'corrected'     THEN 3
      WHEN 'clock'         THEN 3
      WHEN 'acknowledged'  THEN 1
      ELSE 0
    END AS rank
    FROM events WHERE events.job = jobs.job
  )
), 0);

CREATE INDEX jobs_by_state_weight ON jobs (state, weight, created);
INSERT INTO sqlite_stat1 (tbl, idx, stat) VALUES ('jobs', 'jobs_by_state_weight', '100000 30000 100 1');
ANALYZE sqlite_schema
