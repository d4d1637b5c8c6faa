-- Who reads or coordinates may have films searched; what is waiting and at work all may see.
DO $$
DECLARE
    kind TEXT;
    name TEXT;
    who TEXT;
BEGIN
    FOREACH kind IN ARRAY ARRAY['reader', 'coordinator', 'auditor'] LOOP
        who := current_database() || '_' || kind;
        FOR name IN SELECT tablename FROM pg_tables WHERE schemaname = 'linerwatch' AND tablename LIKE 'river\_%' LOOP
            EXECUTE format('GRANT SELECT ON %I TO %I', name, who);
            IF kind <> 'auditor' AND name <> 'river_migration' THEN
                EXECUTE format('GRANT INSERT, UPDATE, DELETE ON %I TO %I', name, who);
            END IF;
        END LOOP;
        IF kind <> 'auditor' THEN
            EXECUTE format('GRANT USAGE ON ALL SEQUENCES IN SCHEMA linerwatch TO %I', who);
        END IF;
    END LOOP;
END $$;
