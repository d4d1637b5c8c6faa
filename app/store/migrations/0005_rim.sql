ALTER TABLE reading ADD COLUMN rim TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(rim)); -- line along the cup's opening, pixels
