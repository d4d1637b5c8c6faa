CREATE TABLE hip (
    id          TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
    patient     TEXT NOT NULL,
    side        TEXT NOT NULL CHECK (side IN ('', 'right', 'left')),
    surgery     TEXT NOT NULL, -- YYYY-MM-DD or empty
    head_mm     REAL NOT NULL,
    liner_mm    REAL NOT NULL, -- 0 where unknown
    pe          TEXT NOT NULL,
    start_years REAL NOT NULL, -- 0 for the default
    baseline    TEXT NOT NULL  -- film, or empty for the earliest
) STRICT;

CREATE TABLE film (
    id           TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
    hip_id       TEXT NOT NULL REFERENCES hip (id),
    path         TEXT NOT NULL,
    sha256       TEXT NOT NULL,
    patient      TEXT NOT NULL,
    date         TEXT NOT NULL, -- YYYY-MM-DD or empty
    side         TEXT NOT NULL CHECK (side IN ('', 'right', 'left')),
    width        INTEGER NOT NULL,
    height       INTEGER NOT NULL,
    spacing_mm   REAL NOT NULL, -- 0 where unknown
    spacing_kind TEXT NOT NULL
) STRICT;

CREATE INDEX film_of_hip ON film (hip_id, date);

CREATE TABLE reading (
    seq        INTEGER PRIMARY KEY AUTOINCREMENT,
    id         TEXT NOT NULL UNIQUE CHECK (id <> ''),
    film_id    TEXT NOT NULL REFERENCES film (id),
    sha256     TEXT NOT NULL, -- of the film as it was read
    reader     TEXT NOT NULL,
    at         TEXT NOT NULL, -- RFC 3339, UTC
    version    TEXT NOT NULL, -- of the program
    supersedes TEXT REFERENCES reading (id),
    status     TEXT NOT NULL CHECK (status IN ('measured', 'refused', 'failed')),
    reason     TEXT NOT NULL,
    side       TEXT NOT NULL CHECK (side IN ('', 'right', 'left')),
    cup_kind   TEXT NOT NULL,
    head_mm    REAL NOT NULL,
    head       TEXT NOT NULL CHECK (json_valid(head)), -- outline, pixels
    cup        TEXT NOT NULL CHECK (json_valid(cup)),
    result     TEXT NOT NULL CHECK (json_valid(result)), -- offset and its covariance, mm
    warnings   TEXT NOT NULL CHECK (json_valid(warnings))
) STRICT;

CREATE INDEX reading_of_film ON reading (film_id, seq);

CREATE TRIGGER reading_insert BEFORE INSERT ON reading BEGIN
    SELECT RAISE (ABORT, 'a reading with this id exists')
    WHERE EXISTS (SELECT 1 FROM reading WHERE id = NEW.id);
    SELECT RAISE (ABORT, 'the superseded reading is not one of this film')
    WHERE NEW.supersedes IS NOT NULL
      AND NOT EXISTS (SELECT 1 FROM reading WHERE id = NEW.supersedes AND film_id = NEW.film_id);
END;

CREATE TRIGGER reading_update BEFORE UPDATE ON reading BEGIN
    SELECT RAISE (ABORT, 'readings are never changed');
END;

CREATE TRIGGER reading_delete BEFORE DELETE ON reading BEGIN
    SELECT RAISE (ABORT, 'readings are never deleted');
END;

CREATE TRIGGER film_moves BEFORE UPDATE OF hip_id ON film
WHEN NEW.hip_id <> OLD.hip_id AND EXISTS (SELECT 1 FROM reading WHERE film_id = OLD.id) BEGIN
    SELECT RAISE (ABORT, 'a film with readings stays with its hip');
END;

CREATE TABLE setting (
    key   TEXT PRIMARY KEY NOT NULL,
    value TEXT NOT NULL
) STRICT;
