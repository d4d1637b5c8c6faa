CREATE TABLE list_draft (
    list_id  TEXT NOT NULL REFERENCES reading_list (id),
    place    INTEGER NOT NULL CHECK (place > 0),
    at       TEXT NOT NULL, -- RFC 3339, UTC
    version  TEXT NOT NULL, -- of the program
    outlines TEXT NOT NULL CHECK (json_valid(outlines)),
    PRIMARY KEY (list_id, place)
) STRICT;
