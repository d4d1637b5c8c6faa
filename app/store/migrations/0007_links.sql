DROP TRIGGER reading_insert;
DROP TRIGGER reading_update;
DROP TRIGGER reading_delete;
DROP TRIGGER film_moves;
DROP TRIGGER exclusion_update;
DROP TRIGGER exclusion_delete;
DROP TRIGGER withdrawal_update;
DROP TRIGGER withdrawal_delete;
DROP INDEX film_of_hip;
DROP INDEX reading_of_film;
DROP INDEX exclusion_of_film;
DROP INDEX withdrawal_of_reading;
ALTER TABLE film RENAME TO old_film;
ALTER TABLE reading RENAME TO old_reading;
ALTER TABLE draft RENAME TO old_draft;
ALTER TABLE exclusion RENAME TO old_exclusion;
ALTER TABLE withdrawal RENAME TO old_withdrawal;

ALTER TABLE hip ADD COLUMN revision INTEGER NOT NULL DEFAULT 1;

CREATE TABLE hip_change (
    seq     INTEGER PRIMARY KEY AUTOINCREMENT,
    hip_id  TEXT NOT NULL,
    before  TEXT NOT NULL CHECK (json_valid(before)), -- the hip before it was saved
    reader  TEXT NOT NULL, -- who saved it
    at      TEXT NOT NULL, -- RFC 3339, UTC
    version TEXT NOT NULL  -- of the program
) STRICT;

CREATE INDEX hip_change_of_hip ON hip_change (hip_id, seq);

CREATE TABLE film (
    id           TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
    path         TEXT NOT NULL,
    sha256       TEXT NOT NULL, -- of the file
    pixel_key    TEXT NOT NULL, -- names the picture; empty where not known
    patient      TEXT NOT NULL,
    date         TEXT NOT NULL, -- YYYY-MM-DD or empty
    side         TEXT NOT NULL CHECK (side IN ('', 'right', 'left')),
    view         TEXT NOT NULL CHECK (view IN ('', 'AP', 'lateral')), -- empty: not known
    width        INTEGER NOT NULL,
    height       INTEGER NOT NULL,
    spacing_mm   REAL NOT NULL, -- 0 where unknown
    spacing_kind TEXT NOT NULL,
    source_mm    REAL NOT NULL, -- source to detector, 0 where unknown
    field_x      REAL, -- middle of the collimated field, pixels; null where unknown
    field_y      REAL,
    axes         TEXT NOT NULL CHECK (json_valid(axes)), -- of a lateral film
    given        TEXT NOT NULL CHECK (json_valid(given)), -- what a reader tells in place of the file
    waits        TEXT NOT NULL CHECK (waits IN ('', 'not sorted', 'not AP', 'unreadable')), -- why it is of no hip yet
    reason       TEXT NOT NULL,
    revision     INTEGER NOT NULL
) STRICT;

CREATE UNIQUE INDEX film_of_picture ON film (pixel_key) WHERE pixel_key <> '';
CREATE INDEX film_of_file ON film (sha256);

CREATE TABLE film_change (
    seq     INTEGER PRIMARY KEY AUTOINCREMENT,
    film_id TEXT NOT NULL,
    before  TEXT NOT NULL CHECK (json_valid(before)), -- the film before it was saved
    reader  TEXT NOT NULL,
    at      TEXT NOT NULL, -- RFC 3339, UTC; empty for what a migration joined
    version TEXT NOT NULL
) STRICT;

CREATE INDEX film_change_of_film ON film_change (film_id, seq);

CREATE TABLE link (
    hip_id   TEXT NOT NULL REFERENCES hip (id),
    film_id  TEXT NOT NULL REFERENCES film (id),
    searched TEXT NOT NULL CHECK (searched IN ('', 'measured', 'refused', 'failed')), -- how the search ended; empty before
    reason   TEXT NOT NULL,
    PRIMARY KEY (hip_id, film_id)
) STRICT;

CREATE INDEX link_of_film ON link (film_id);

CREATE TABLE reading (
    seq         INTEGER PRIMARY KEY AUTOINCREMENT,
    id          TEXT NOT NULL UNIQUE CHECK (id <> ''),
    hip_id      TEXT NOT NULL,
    film_id     TEXT NOT NULL,
    sha256      TEXT NOT NULL, -- of the film as it was read
    reader      TEXT NOT NULL,
    at          TEXT NOT NULL, -- RFC 3339, UTC
    version     TEXT NOT NULL, -- of the program
    supersedes  TEXT REFERENCES reading (id),
    status      TEXT NOT NULL CHECK (status IN ('measured', 'refused', 'failed')),
    reason      TEXT NOT NULL,
    side        TEXT NOT NULL CHECK (side IN ('', 'right', 'left')),
    cup_kind    TEXT NOT NULL,
    head_mm     REAL NOT NULL,
    head        BLOB NOT NULL, -- outline without edges, as 64-bit numbers
    cup         BLOB NOT NULL,
    head_points INTEGER NOT NULL, -- edges fitted
    cup_points  INTEGER NOT NULL,
    rim         BLOB NOT NULL, -- line along the cup's opening, the same way; empty where none
    result      TEXT NOT NULL CHECK (json_valid(result)), -- what was read from the outlines, and how
    FOREIGN KEY (hip_id, film_id) REFERENCES link (hip_id, film_id)
) STRICT;

CREATE INDEX reading_of_hip ON reading (hip_id, film_id, seq);

CREATE TABLE edges (
    reading INTEGER PRIMARY KEY REFERENCES reading (seq),
    head    BLOB NOT NULL, -- packed edge points; none where empty
    cup     BLOB NOT NULL
) STRICT;

CREATE TABLE withdrawal (
    seq        INTEGER PRIMARY KEY AUTOINCREMENT,
    reading_id TEXT NOT NULL REFERENCES reading (id),
    back       INTEGER NOT NULL CHECK (back IN (0, 1)), -- 1: the reading stands again
    reader     TEXT NOT NULL, -- who decided
    at         TEXT NOT NULL, -- RFC 3339, UTC
    version    TEXT NOT NULL  -- of the program
) STRICT;

CREATE INDEX withdrawal_of_reading ON withdrawal (reading_id, seq);

CREATE TABLE draft (
    hip_id   TEXT NOT NULL,
    film_id  TEXT NOT NULL,
    kind     TEXT NOT NULL CHECK (kind IN ('proposed', 'edited')),
    at       TEXT NOT NULL, -- RFC 3339, UTC
    version  TEXT NOT NULL, -- of the program
    outlines TEXT NOT NULL CHECK (json_valid(outlines)),
    PRIMARY KEY (hip_id, film_id, kind),
    FOREIGN KEY (hip_id, film_id) REFERENCES link (hip_id, film_id)
) STRICT;

CREATE TABLE exclusion (
    seq     INTEGER PRIMARY KEY AUTOINCREMENT,
    hip_id  TEXT NOT NULL,
    film_id TEXT NOT NULL,
    code    TEXT NOT NULL, -- empty: taken back in
    note    TEXT NOT NULL,
    reader  TEXT NOT NULL,
    at      TEXT NOT NULL, -- RFC 3339, UTC
    version TEXT NOT NULL, -- of the program
    FOREIGN KEY (hip_id, film_id) REFERENCES link (hip_id, film_id)
) STRICT;

CREATE INDEX exclusion_of_film ON exclusion (hip_id, film_id, seq);

-- Of each old film, the film that it is now; for the time of this migration.
CREATE TABLE joined (old TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL) STRICT;
