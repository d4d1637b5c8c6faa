DROP TABLE old_withdrawal;
DROP TABLE old_exclusion;
DROP TABLE old_draft;
DROP TABLE old_reading;
DROP TABLE old_film;

CREATE TRIGGER reading_insert BEFORE INSERT ON reading BEGIN
    SELECT RAISE (ABORT, 'a reading with this id exists')
    WHERE EXISTS (SELECT 1 FROM reading WHERE id = NEW.id);
    SELECT RAISE (ABORT, 'the superseded reading is not one of this hip and film')
    WHERE NEW.supersedes IS NOT NULL
      AND NOT EXISTS (SELECT 1 FROM reading WHERE id = NEW.supersedes AND hip_id = NEW.hip_id AND film_id = NEW.film_id);
END;

CREATE TRIGGER reading_update BEFORE UPDATE ON reading BEGIN
    SELECT RAISE (ABORT, 'readings are never changed');
END;

CREATE TRIGGER reading_delete BEFORE DELETE ON reading BEGIN
    SELECT RAISE (ABORT, 'readings are never deleted');
END;

CREATE TRIGGER edges_update BEFORE UPDATE ON edges BEGIN
    SELECT RAISE (ABORT, 'edge points are never changed');
END;

CREATE TRIGGER edges_delete BEFORE DELETE ON edges BEGIN
    SELECT RAISE (ABORT, 'edge points are never deleted');
END;

CREATE TRIGGER exclusion_update BEFORE UPDATE ON exclusion BEGIN
    SELECT RAISE (ABORT, 'exclusions are never changed');
END;

CREATE TRIGGER exclusion_delete BEFORE DELETE ON exclusion BEGIN
    SELECT RAISE (ABORT, 'exclusions are never deleted');
END;

CREATE TRIGGER withdrawal_update BEFORE UPDATE ON withdrawal BEGIN
    SELECT RAISE (ABORT, 'withdrawals are never changed');
END;

CREATE TRIGGER withdrawal_delete BEFORE DELETE ON withdrawal BEGIN
    SELECT RAISE (ABORT, 'withdrawals are never deleted');
END;

CREATE TRIGGER hip_change_update BEFORE UPDATE ON hip_change BEGIN
    SELECT RAISE (ABORT, 'changes of a hip are never changed');
END;

CREATE TRIGGER hip_change_delete BEFORE DELETE ON hip_change BEGIN
    SELECT RAISE (ABORT, 'changes of a hip are never deleted');
END;

CREATE TRIGGER film_change_update BEFORE UPDATE ON film_change BEGIN
    SELECT RAISE (ABORT, 'changes of a film are never changed');
END;

CREATE TRIGGER film_change_delete BEFORE DELETE ON film_change BEGIN
    SELECT RAISE (ABORT, 'changes of a film are never deleted');
END;
