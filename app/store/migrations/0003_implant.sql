ALTER TABLE hip ADD COLUMN study_group TEXT NOT NULL DEFAULT '';
ALTER TABLE hip ADD COLUMN head_material TEXT NOT NULL DEFAULT ''; -- code, or empty where unknown
ALTER TABLE hip ADD COLUMN shell_mm REAL NOT NULL DEFAULT 0; -- 0 where unknown
ALTER TABLE hip ADD COLUMN fixation TEXT NOT NULL DEFAULT ''; -- code, or empty where unknown
