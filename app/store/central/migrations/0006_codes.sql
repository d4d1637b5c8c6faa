-- A user of the database reads under the codes that are granted to it alone: the setting
-- "reader codes" holds them, by user, and the audit trail who granted them. A coordinator is
-- held to that for readings and grades, a reader for all that carries a code; what the
-- program does of itself carries none. The owner puts in what other readers read before.
CREATE FUNCTION under_code() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF pg_has_role(session_user, (SELECT nspowner FROM pg_namespace WHERE nspname = 'linerwatch'), 'MEMBER')
        OR TG_TABLE_NAME NOT IN ('reading', 'grade') AND pg_has_role(session_user, current_database() || '_coordinator', 'MEMBER')
        OR TG_TABLE_NAME = 'trail' AND NEW.reader = ''
        OR EXISTS (SELECT 1 FROM setting WHERE key = 'reader codes' AND value::jsonb -> session_user::text ? NEW.reader) THEN
        RETURN NEW;
    END IF;
    RAISE EXCEPTION 'user % has not been granted this reader code', session_user USING ERRCODE = 'LW004', DETAIL = NEW.reader;
END $$;
CREATE TRIGGER reading_code BEFORE INSERT ON reading FOR EACH ROW EXECUTE FUNCTION under_code();
CREATE TRIGGER grade_code BEFORE INSERT ON grade FOR EACH ROW EXECUTE FUNCTION under_code();
CREATE TRIGGER exclusion_code BEFORE INSERT ON exclusion FOR EACH ROW EXECUTE FUNCTION under_code();
CREATE TRIGGER withdrawal_code BEFORE INSERT ON withdrawal FOR EACH ROW EXECUTE FUNCTION under_code();
CREATE TRIGGER unblinding_code BEFORE INSERT ON unblinding FOR EACH ROW EXECUTE FUNCTION under_code();
CREATE TRIGGER trail_code BEFORE INSERT ON trail FOR EACH ROW EXECUTE FUNCTION under_code();

-- The guards look at the tables of the study, whatever tables of their own others make.
ALTER FUNCTION under_code() SET search_path = linerwatch, pg_temp;
ALTER FUNCTION unblinding_own() SET search_path = linerwatch, pg_temp;
ALTER FUNCTION kept() SET search_path = linerwatch, pg_temp;
ALTER FUNCTION superseding() SET search_path = linerwatch, pg_temp;
ALTER FUNCTION chained() SET search_path = linerwatch, pg_temp;
ALTER FUNCTION ending() SET search_path = linerwatch, pg_temp;
