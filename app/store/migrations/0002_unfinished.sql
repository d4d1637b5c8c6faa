CREATE TABLE draft (
    hip_id   TEXT NOT NULL REFERENCES hip (id),
    film_id  TEXT NOT NULL CHECK (film_id <> ''), -- the film itself may not be saved yet
    film     TEXT NOT NULL CHECK (json_valid(film)),
    at       TEXT NOT NULL, -- RFC 3339, UTC
    outlines TEXT NOT NULL CHECK (json_valid(outlines)),
    PRIMARY KEY (hip_id, film_id)
) STRICT;

CREATE TABLE exclusion (
    seq     INTEGER PRIMARY KEY AUTOINCREMENT,
    hip_id  TEXT NOT NULL REFERENCES hip (id),
    film_id TEXT NOT NULL REFERENCES film (id),
    code    TEXT NOT NULL, -- empty: taken back in
    note    TEXT NOT NULL,
    reader  TEXT NOT NULL,
    at      TEXT NOT NULL, -- RFC 3339, UTC
    version TEXT NOT NULL  -- of the program
) STRICT;

CREATE INDEX exclusion_of_film ON exclusion (hip_id, film_id, seq);

CREATE TRIGGER exclusion_update BEFORE UPDATE ON exclusion BEGIN
    SELECT RAISE (ABORT, 'exclusions are never changed');
END;

CREATE TRIGGER exclusion_delete BEFORE DELETE ON exclusion BEGIN
    SELECT RAISE (ABORT, 'exclusions are never deleted');
END;
