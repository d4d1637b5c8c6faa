-- Who may do what: roles of the whole server, so they are named for the database.
DO $$
DECLARE
    kind TEXT;
    who TEXT;
BEGIN
    REVOKE ALL ON SCHEMA linerwatch FROM PUBLIC;
    FOREACH kind IN ARRAY ARRAY['reader', 'coordinator', 'auditor'] LOOP
        who := current_database() || '_' || kind;
        IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = who) THEN
            EXECUTE format('CREATE ROLE %I NOLOGIN', who);
        END IF;
        EXECUTE format('GRANT USAGE ON SCHEMA linerwatch TO %I', who);
        EXECUTE format('GRANT SELECT ON ALL TABLES IN SCHEMA linerwatch TO %I', who);
        CONTINUE WHEN kind = 'auditor';
        EXECUTE format('GRANT INSERT ON reading, edges, withdrawal, exclusion, grade, trail TO %I', who);
        EXECUTE format('GRANT INSERT, UPDATE ON film, link, trail_end TO %I', who);
        EXECUTE format('GRANT INSERT, UPDATE, DELETE ON draft TO %I', who);
        CONTINUE WHEN kind = 'reader';
        EXECUTE format('GRANT INSERT, UPDATE ON hip, patient, site, variable, setting TO %I', who);
        EXECUTE format('GRANT INSERT ON event, reading_list, unblinding TO %I', who);
        EXECUTE format('GRANT INSERT, UPDATE, DELETE ON value TO %I', who);
        EXECUTE format('GRANT DELETE ON film, link TO %I', who);
    END LOOP;
END $$;
