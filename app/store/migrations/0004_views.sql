ALTER TABLE hip ADD COLUMN beam_off INTEGER NOT NULL DEFAULT 0 CHECK (beam_off IN (0, 1)); -- 1: films stay uncorrected

ALTER TABLE film ADD COLUMN view TEXT NOT NULL DEFAULT '' CHECK (view IN ('', 'AP', 'lateral')); -- empty: not known
ALTER TABLE film ADD COLUMN source_mm REAL NOT NULL DEFAULT 0; -- source to detector as the file says, 0 where unknown
ALTER TABLE film ADD COLUMN given TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(given)); -- what a reader states of the beam

ALTER TABLE reading ADD COLUMN line TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(line)); -- reference line, pixels and degrees
ALTER TABLE reading ADD COLUMN method TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(method)); -- by which result was read
ALTER TABLE reading ADD COLUMN beam TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(beam)); -- what was done about the cone beam
ALTER TABLE reading ADD COLUMN corrected TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(corrected)); -- outlines that result is of
