CREATE TABLE withdrawal (
    seq        INTEGER PRIMARY KEY AUTOINCREMENT,
    reading_id TEXT NOT NULL REFERENCES reading (id),
    back       INTEGER NOT NULL CHECK (back IN (0, 1)), -- 1: the reading stands again
    reader     TEXT NOT NULL, -- who decided
    at         TEXT NOT NULL, -- RFC 3339, UTC
    version    TEXT NOT NULL  -- of the program
) STRICT;

CREATE INDEX withdrawal_of_reading ON withdrawal (reading_id, seq);

CREATE TRIGGER withdrawal_update BEFORE UPDATE ON withdrawal BEGIN
    SELECT RAISE (ABORT, 'withdrawals are never changed');
END;

CREATE TRIGGER withdrawal_delete BEFORE DELETE ON withdrawal BEGIN
    SELECT RAISE (ABORT, 'withdrawals are never deleted');
END;
