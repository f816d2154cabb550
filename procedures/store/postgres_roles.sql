-- The roles of a shared store. They are of the whole server, so that those which are
-- there already are left as they are. Nobody logs in as one of these: whoever logs in is
-- made a member of one,
--   CREATE ROLE bay1 LOGIN PASSWORD '...' IN ROLE daytank_bay;

DO $$
DECLARE
  role_ text;
BEGIN
  FOREACH role_ IN ARRAY ARRAY['daytank_owner', 'daytank_bay', 'daytank_reader'] LOOP
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = role_) THEN
      BEGIN
        EXECUTE format('CREATE ROLE %I NOLOGIN', role_);
      EXCEPTION WHEN duplicate_object OR unique_violation THEN
        NULL; -- somebody else made it just now
      END;
    END IF;
  END LOOP;
  IF NOT pg_has_role(current_user, 'daytank_owner', 'MEMBER') THEN
    EXECUTE format('GRANT daytank_owner TO %I', current_user);
  END IF;
END
$$;

CREATE SCHEMA daytank AUTHORIZATION daytank_owner;
SET LOCAL ROLE daytank_owner;
SET LOCAL search_path = daytank;
