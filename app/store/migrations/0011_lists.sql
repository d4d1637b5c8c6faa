CREATE TABLE reading_list (
    seq     INTEGER PRIMARY KEY AUTOINCREMENT,
    id      TEXT NOT NULL UNIQUE CHECK (id <> ''),
    assigned TEXT NOT NULL, -- reader who reads it
    kind    TEXT NOT NULL CHECK (kind IN ('reading', 'adjudication')),
    seed    TEXT NOT NULL, -- of the order, decimal: 64 bits without a sign
    share   REAL NOT NULL, -- of the films that are read twice
    gap     INTEGER NOT NULL, -- films between two readings of one, at least
    days    INTEGER NOT NULL, -- days between them, at least
    start   TEXT NOT NULL CHECK (start IN ('blank', 'proposal')),
    shows   INTEGER NOT NULL CHECK (shows IN (0, 1)), -- numbers, once the quality is graded
    places  TEXT NOT NULL CHECK (json_valid(places)), -- in the order in which they are read
    reader  TEXT NOT NULL, -- who made it
    at      TEXT NOT NULL, -- RFC 3339, UTC
    version TEXT NOT NULL, -- of the program
    why     TEXT NOT NULL
) STRICT;

CREATE TABLE unblinding (
    seq     INTEGER PRIMARY KEY AUTOINCREMENT,
    list_id TEXT NOT NULL UNIQUE REFERENCES reading_list (id),
    reader  TEXT NOT NULL, -- who did it
    at      TEXT NOT NULL, -- RFC 3339, UTC
    version TEXT NOT NULL,
    why     TEXT NOT NULL
) STRICT;

ALTER TABLE reading ADD COLUMN list_id TEXT NOT NULL DEFAULT ''; -- empty: of no list
ALTER TABLE reading ADD COLUMN list_kind TEXT NOT NULL DEFAULT '';
ALTER TABLE reading ADD COLUMN place INTEGER NOT NULL DEFAULT 0; -- of the list, from 1
ALTER TABLE reading ADD COLUMN occasion INTEGER NOT NULL DEFAULT 0;
ALTER TABLE reading ADD COLUMN start TEXT NOT NULL DEFAULT ''; -- what the reader began with
ALTER TABLE reading ADD COLUMN untouched INTEGER NOT NULL DEFAULT 0; -- 1: the program's proposal as it was

CREATE INDEX reading_of_place ON reading (list_id, place) WHERE list_id <> '';

ALTER TABLE exclusion ADD COLUMN scope TEXT NOT NULL DEFAULT '' CHECK (scope IN ('', 'reader')); -- whose readings are left out
ALTER TABLE exclusion ADD COLUMN list_id TEXT NOT NULL DEFAULT '';
ALTER TABLE exclusion ADD COLUMN place INTEGER NOT NULL DEFAULT 0;

CREATE TRIGGER reading_list_update BEFORE UPDATE ON reading_list BEGIN
    SELECT RAISE (ABORT, 'reading lists are never changed');
END;

CREATE TRIGGER reading_list_delete BEFORE DELETE ON reading_list BEGIN
    SELECT RAISE (ABORT, 'reading lists are never deleted');
END;

CREATE TRIGGER unblinding_update BEFORE UPDATE ON unblinding BEGIN
    SELECT RAISE (ABORT, 'unblindings are never changed');
END;

CREATE TRIGGER unblinding_delete BEFORE DELETE ON unblinding BEGIN
    SELECT RAISE (ABORT, 'unblindings are never deleted');
END;
