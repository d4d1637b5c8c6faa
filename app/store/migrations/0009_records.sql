ALTER TABLE hip ADD COLUMN site TEXT NOT NULL DEFAULT ''; -- code
ALTER TABLE hip ADD COLUMN age REAL NOT NULL DEFAULT 0; -- at surgery, years; 0 where unknown
ALTER TABLE hip ADD COLUMN liner_inner_mm REAL NOT NULL DEFAULT 0; -- 0 where unknown
ALTER TABLE hip ADD COLUMN liner_outer_mm REAL NOT NULL DEFAULT 0; -- 0 where unknown
ALTER TABLE hip ADD COLUMN irradiated TEXT NOT NULL DEFAULT ''; -- yes, no or empty
ALTER TABLE hip ADD COLUMN dose_kgy REAL NOT NULL DEFAULT 0; -- 0 where unknown
ALTER TABLE hip ADD COLUMN stabiliser TEXT NOT NULL DEFAULT ''; -- code, or empty where unknown
ALTER TABLE hip ADD COLUMN lipped TEXT NOT NULL DEFAULT ''; -- yes, no or empty
ALTER TABLE hip ADD COLUMN catalogue TEXT NOT NULL DEFAULT ''; -- the maker's text

CREATE TABLE site (
    code     TEXT PRIMARY KEY NOT NULL CHECK (code <> '' AND instr(code, '/') = 0),
    name     TEXT NOT NULL,
    revision INTEGER NOT NULL
) STRICT;

CREATE TABLE patient (
    site      TEXT NOT NULL CHECK (instr(site, '/') = 0), -- code; empty in a study of one site
    code      TEXT NOT NULL CHECK (code <> ''),
    sex       TEXT NOT NULL, -- code, or empty where unknown
    height_cm REAL NOT NULL, -- 0 where unknown
    weight_kg REAL NOT NULL, -- 0 where unknown
    revision  INTEGER NOT NULL,
    PRIMARY KEY (site, code)
) STRICT;

CREATE TABLE event (
    seq        INTEGER PRIMARY KEY AUTOINCREMENT, -- of its ID
    hip_id     TEXT NOT NULL REFERENCES hip (id),
    kind       TEXT NOT NULL CHECK (kind IN ('head exchanged', 'liner exchanged', 'cup revised', 'death', 'lost', '')),
    date       TEXT NOT NULL, -- YYYY-MM-DD
    implant    TEXT NOT NULL CHECK (json_valid(implant)), -- what the hip has since
    note       TEXT NOT NULL,
    takes_back INTEGER REFERENCES event (seq),
    reader     TEXT NOT NULL,
    at         TEXT NOT NULL, -- RFC 3339, UTC
    version    TEXT NOT NULL, -- of the program
    why        TEXT NOT NULL,
    CHECK (takes_back IS NOT NULL OR kind <> '' AND date <> '')
) STRICT;

CREATE INDEX event_of_hip ON event (hip_id, seq);
CREATE INDEX event_taken_back ON event (takes_back);

CREATE TABLE grade (
    seq     INTEGER PRIMARY KEY AUTOINCREMENT,
    hip_id  TEXT NOT NULL,
    film_id TEXT NOT NULL,
    quality TEXT NOT NULL CHECK (quality IN ('A', 'B', 'C')),
    reason  TEXT NOT NULL, -- code, or empty
    note    TEXT NOT NULL,
    reader  TEXT NOT NULL,
    at      TEXT NOT NULL, -- RFC 3339, UTC
    version TEXT NOT NULL, -- of the program
    why     TEXT NOT NULL,
    FOREIGN KEY (hip_id, film_id) REFERENCES link (hip_id, film_id)
) STRICT;

CREATE INDEX grade_of_hip ON grade (hip_id, seq);

CREATE TABLE variable (
    of       TEXT NOT NULL CHECK (of IN ('patient', 'hip', 'film')),
    name     TEXT NOT NULL CHECK (name <> ''),
    type     TEXT NOT NULL CHECK (type IN ('number', 'integer', 'text', 'yes-no', 'date', 'choice')),
    unit     TEXT NOT NULL,
    choices  TEXT NOT NULL CHECK (json_valid(choices)),
    label    TEXT NOT NULL,
    revision INTEGER NOT NULL,
    PRIMARY KEY (of, name)
) STRICT;

CREATE TABLE value (
    of   TEXT NOT NULL,
    id   TEXT NOT NULL, -- of the patient (site, slash, code), hip or film
    name TEXT NOT NULL,
    text TEXT NOT NULL CHECK (text <> ''),
    PRIMARY KEY (of, id, name),
    FOREIGN KEY (of, name) REFERENCES variable (of, name)
) STRICT, WITHOUT ROWID;

CREATE INDEX value_of_variable ON value (of, name);

CREATE TRIGGER event_update BEFORE UPDATE ON event BEGIN
    SELECT RAISE (ABORT, 'events are never changed');
END;

CREATE TRIGGER event_delete BEFORE DELETE ON event BEGIN
    SELECT RAISE (ABORT, 'events are never deleted');
END;

CREATE TRIGGER grade_update BEFORE UPDATE ON grade BEGIN
    SELECT RAISE (ABORT, 'grades are never changed');
END;

CREATE TRIGGER grade_delete BEFORE DELETE ON grade BEGIN
    SELECT RAISE (ABORT, 'grades are never deleted');
END;
