CREATE TABLE list_draft (
    list_id  TEXT COLLATE "C" NOT NULL REFERENCES reading_list (id),
    place    BIGINT NOT NULL CHECK (place > 0),
    at       TEXT COLLATE "C" NOT NULL, -- RFC 3339, UTC
    version  TEXT COLLATE "C" NOT NULL, -- of the program
    outlines TEXT COLLATE "C" NOT NULL CHECK (outlines::json IS NOT NULL),
    PRIMARY KEY (list_id, place)
);

DO $$
DECLARE
    kind TEXT;
    who TEXT;
BEGIN
    FOREACH kind IN ARRAY ARRAY['reader', 'coordinator', 'auditor'] LOOP
        who := current_database() || '_' || kind;
        EXECUTE format('GRANT SELECT ON list_draft TO %I', who);
        CONTINUE WHEN kind = 'auditor';
        EXECUTE format('GRANT INSERT, UPDATE, DELETE ON list_draft TO %I', who);
    END LOOP;
END $$;
