-- The audit trail: study.TrailRow says how hash follows from the row before.
CREATE TABLE trail (
    seq     INTEGER PRIMARY KEY AUTOINCREMENT, -- 1, 2, 3 ...
    at      TEXT NOT NULL, -- RFC 3339, UTC; empty where not known
    reader  TEXT NOT NULL, -- who made the change
    version TEXT NOT NULL, -- of the program
    what    TEXT NOT NULL, -- was changed
    id      TEXT NOT NULL, -- of which
    old     TEXT NOT NULL CHECK (old = '' OR json_valid(old)),
    new     TEXT NOT NULL CHECK (new = '' OR json_valid(new)),
    why     TEXT NOT NULL,
    hash    TEXT NOT NULL
) STRICT;

CREATE INDEX trail_of ON trail (what, id, seq);

-- The last row of the trail, kept apart so that its loss is seen.
CREATE TABLE trail_end (
    one  INTEGER PRIMARY KEY CHECK (one = 1),
    seq  INTEGER NOT NULL,
    hash TEXT NOT NULL
) STRICT;

CREATE TRIGGER trail_update BEFORE UPDATE ON trail BEGIN
    SELECT RAISE (ABORT, 'the audit trail is never changed');
END;

CREATE TRIGGER trail_delete BEFORE DELETE ON trail BEGIN
    SELECT RAISE (ABORT, 'the audit trail is never shortened');
END;
