-- A reader ends the own blinding, and nobody else's. Its tables are those of the study
-- and of the system, whatever tables of their own others make: 0006 sees to that.
CREATE FUNCTION unblinding_own() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = current_database() || '_coordinator' AND pg_has_role(oid, 'MEMBER'))
        AND NOT (SELECT pg_has_role(nspowner, 'MEMBER') FROM pg_namespace WHERE nspname = 'linerwatch')
        AND NOT EXISTS (SELECT 1 FROM linerwatch.reading_list WHERE id = NEW.list_id AND assigned = NEW.reader) THEN
        RAISE EXCEPTION 'a reader ends the own blinding, and nobody else''s' USING ERRCODE = '42501';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER unblinding_own BEFORE INSERT ON unblinding FOR EACH ROW EXECUTE FUNCTION unblinding_own();

DO $$
BEGIN
    EXECUTE format('GRANT INSERT ON unblinding TO %I', current_database() || '_reader');
END $$;
