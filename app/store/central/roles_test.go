package central

import (
	"errors"
	"net/url"
	"os"
	"path/filepath"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store"
	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// as makes a user with a role of the study, and returns its address.
func as(t *testing.T, address, role string) string {
	t.Helper()
	return to(t, address, func(u *url.URL) {
		name := u.Path[1:]
		who := name + "_some_" + role
		run(t, address, "CREATE ROLE "+who+" LOGIN PASSWORD 'p-"+role+"'", "GRANT "+name+"_"+role+" TO "+who)
		u.User = url.UserPassword(who, "p-"+role)
	})
}

// grant lets the user of an address read under these codes.
func grant(t *testing.T, owner, of string, codes ...string) {
	t.Helper()
	u, err := url.Parse(of)
	require.NoError(t, err)
	s := opened(t, owner)
	require.NoError(t, s.Grant(t.Context(), u.User.Username(), codes, by))
}

// deeds are what somebody may want to do to a study with a hip and a film of it, and whether
// a reader may; a coordinator may do all of them, and an auditor none.
func deeds(t *testing.T, h study.Hip, f study.Film, role string) map[string]func(s *DB) (reader bool, err error) {
	ctx := t.Context()
	r := storetest.Reading("r-"+role, h, f)
	r.Reader = role
	return map[string]func(s *DB) (bool, error){
		"accept a film": func(s *DB) (bool, error) { return true, s.AddNext(ctx, r) },
		"grade a film": func(s *DB) (bool, error) {
			return true, s.AddGrade(ctx, study.Grade{HipID: h.ID, FilmID: f.ID, Quality: "A", Stamp: by})
		},
		"leave a film out": func(s *DB) (bool, error) {
			return true, s.AddExclusion(ctx, study.Exclusion{HipID: h.ID, FilmID: f.ID, Reader: by.Reader, At: by.At})
		},
		"keep outlines": func(s *DB) (bool, error) {
			return true, s.SaveDraft(ctx, study.Draft{HipID: h.ID, FilmID: f.ID, Kind: study.Edited, At: by.At, Outlines: []byte("{}")})
		},
		"look at numbers": func(s *DB) (bool, error) {
			return true, s.AddDisclosure(ctx, study.Disclosure{Kind: study.ShownNumbers, Stamp: by})
		},
		"add a film": func(s *DB) (bool, error) {
			_, err := s.AddFilms(ctx, []study.Film{storetest.Film("by "+role, "2004-06-14")}, by)
			return true, err
		},
		"change a hip": func(s *DB) (bool, error) {
			list, err := s.Hips(ctx)
			require.NoError(t, err)
			list[0].Group = role
			_, err = s.SaveHip(ctx, list[0], by)
			return false, err
		},
		"add a patient": func(s *DB) (bool, error) {
			_, err := s.SavePatient(ctx, study.Patient{Code: "P-" + role}, by)
			return false, err
		},
		"tell an event": func(s *DB) (bool, error) {
			_, err := s.AddEvent(ctx, study.Event{HipID: h.ID, Kind: study.Lost, Date: by.At, Stamp: by})
			return false, err
		},
		"change a setting": func(s *DB) (bool, error) { return false, s.SetSetting(ctx, "set by", role, by) },
		"drop a film": func(s *DB) (bool, error) {
			list, err := s.Unsorted(ctx)
			require.NoError(t, err)
			require.NotEmpty(t, list)
			return false, s.DropFilm(ctx, list[0].ID, by)
		},
	}
}

func TestRoles(t *testing.T) {
	address := database(t)
	s := created(t, address)
	h, f := seed(t, s)
	for _, name := range []string{"b", "c", "d"} {
		_, err := s.SaveFilm(t.Context(), storetest.Film(name, "2005-01-01"), by)
		require.NoError(t, err)
	}
	require.NoError(t, s.Close())
	for _, role := range []string{"reader", "coordinator", "auditor"} {
		user := as(t, address, role)
		if role != "auditor" {
			grant(t, address, user, role, by.Reader)
		}
		s := opened(t, user)
		for name, do := range deeds(t, h, f, role) {
			t.Run(role+" may "+name, func(t *testing.T) {
				was, err := trailEnd(t.Context(), s.db)
				require.NoError(t, err)
				reader, err := do(s)
				if role == "coordinator" || role == "reader" && reader {
					require.NoError(t, err)
					return
				}
				require.ErrorIs(t, err, errDenied)
				require.NotContains(t, study.Told(err), "\n")
				now, err := trailEnd(t.Context(), s.db)
				require.NoError(t, err)
				assert.Equal(t, was, now, "nothing is written")
			})
		}
		found, err := s.Audit(t.Context())
		require.NoError(t, err)
		assert.Empty(t, found.Broken, role)
		require.NoError(t, s.Records(t.Context(), func(study.Record) error { return nil }), role)
		_, err = s.db.ExecContext(t.Context(), "CREATE TABLE linerwatch.mine (n BIGINT)")
		require.Error(t, err, "they make nothing")
	}
}

// A reader ends the own blinding and nobody else's, whatever the statement; a coordinator ends
// anybody's, an auditor nobody's.
func TestWhoEndsABlinding(t *testing.T) {
	address := database(t)
	s := created(t, address)
	h, f := seed(t, s)
	ctx := t.Context()
	var lists []study.List
	for _, reader := range []string{"R2", "R3", "R4", "R5"} {
		lists = append(lists, study.List{Reader: reader, Kind: study.ReadList, Start: study.StartBlank, Places: []study.Place{{HipID: h.ID, FilmID: f.ID, Occasion: 1}}})
	}
	_, err := s.AddLists(ctx, lists, by)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	stamp := func(reader string) study.Stamp {
		return study.Stamp{Reader: reader, At: by.At, Version: by.Version, Why: "done"}
	}

	user := as(t, address, "reader")
	grant(t, address, user, "R2")
	reader := opened(t, user)
	was, err := trailEnd(ctx, reader.db)
	require.NoError(t, err)
	err = reader.AddUnblinding(ctx, study.Unblinding{ListID: "L2", Stamp: stamp("R2")})
	require.ErrorIs(t, err, errDenied)
	assert.Contains(t, study.Told(err), "a reader ends the own blinding")
	err = reader.AddUnblinding(ctx, study.Unblinding{ListID: "L2", Stamp: stamp("R3")})
	require.ErrorIs(t, err, errDenied, "it says so of itself only")
	assert.Contains(t, study.Told(err), `may not read under the code "R3"`)
	now, err := trailEnd(ctx, reader.db)
	require.NoError(t, err)
	assert.Equal(t, was, now, "nothing is written")
	for _, own := range []string{"reading_list AS SELECT id, 'R2' AS assigned FROM linerwatch.reading_list",
		"pg_roles AS SELECT current_database() || '_coordinator' AS rolname, oid FROM pg_catalog.pg_roles WHERE rolname = session_user"} {
		_, err = reader.db.ExecContext(ctx, "CREATE TEMPORARY TABLE "+own)
		require.NoError(t, err)
	}
	_, err = reader.db.ExecContext(ctx, "INSERT INTO linerwatch.unblinding (list_id, why, reader, at, version) VALUES ('L2', '', 'R2', '', '')")
	require.ErrorContains(t, err, "a reader ends the own blinding")
	_, err = reader.db.ExecContext(ctx, "DROP TABLE pg_temp.reading_list, pg_temp.pg_roles")
	require.NoError(t, err)
	require.NoError(t, reader.AddUnblinding(ctx, study.Unblinding{ListID: "L1", Stamp: stamp("R2")}))

	coordinator := opened(t, as(t, address, "coordinator"))
	require.NoError(t, coordinator.AddUnblinding(ctx, study.Unblinding{ListID: "L2", Stamp: stamp("coordinator")}))
	auditor := opened(t, as(t, address, "auditor"))
	require.ErrorIs(t, auditor.AddUnblinding(ctx, study.Unblinding{ListID: "L3", Stamp: stamp("R4")}), errDenied)
	require.NoError(t, opened(t, address).AddUnblinding(ctx, study.Unblinding{ListID: "L4", Stamp: stamp("owner")}))
	found, err := auditor.Audit(ctx)
	require.NoError(t, err)
	assert.Empty(t, found.Broken)
}

// What is only ever added to stays, whoever asks: roles may not, and the owner is refused.
func TestWhatIsAppendOnly(t *testing.T) {
	address := database(t)
	s := created(t, address)
	h, f := seed(t, s)
	ctx := t.Context()
	require.NoError(t, s.AddReading(ctx, storetest.Reading("r1", h, f)))
	require.NoError(t, s.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "r1", At: by.At}))
	require.NoError(t, s.AddExclusion(ctx, study.Exclusion{HipID: h.ID, FilmID: f.ID, At: by.At}))
	_, err := s.AddEvent(ctx, study.Event{HipID: h.ID, Kind: study.Lost, Date: by.At, Stamp: by})
	require.NoError(t, err)
	require.NoError(t, s.AddGrade(ctx, study.Grade{HipID: h.ID, FilmID: f.ID, Quality: "B", Stamp: by}))
	require.NoError(t, s.Close())
	for who, code := range map[string]string{address: "LW001", as(t, address, "coordinator"): "42501"} {
		db := connected(t, who)
		for _, table := range []string{"reading", "edges", "withdrawal", "exclusion", "event", "grade", "trail"} {
			column := map[string]string{"edges": "head", "withdrawal": "reading_id"}[table]
			if column == "" {
				column = "reader"
			}
			if table == "edges" || table == "withdrawal" {
				column += " = " + column
			} else {
				column += " = 'x'"
			}
			for _, statement := range []string{"UPDATE " + table + " SET " + column, "DELETE FROM " + table, "TRUNCATE " + table + " CASCADE"} {
				_, err := db.ExecContext(ctx, statement)
				var e *pgconn.PgError
				require.ErrorAs(t, err, &e, statement)
				assert.Equal(t, code, e.Code, statement)
			}
		}
		for _, statement := range []string{
			"INSERT INTO trail VALUES (99, '', '', '', 'hip', 'H1', '', '', '', '')",
			"INSERT INTO trail SELECT seq + 1, at, reader, version, what, id, old, new, why, hash FROM trail ORDER BY seq DESC LIMIT 1",
			"UPDATE trail_end SET seq = 1", "UPDATE trail_end SET hash = ''", "DELETE FROM trail_end",
		} {
			_, err := db.ExecContext(ctx, statement)
			assert.Error(t, err, statement)
		}
	}
	found, err := opened(t, address).Audit(ctx)
	require.NoError(t, err)
	assert.Empty(t, found.Broken)
}

// An owner who switches the guards off and edits a reading is found out.
func TestAuditFindsTheOwner(t *testing.T) {
	address := database(t)
	s := created(t, address)
	h, f := seed(t, s)
	require.NoError(t, s.AddReading(t.Context(), storetest.Reading("r1", h, f)))
	require.NoError(t, s.Close())
	run(t, address, "ALTER TABLE reading DISABLE TRIGGER reading_kept", "UPDATE reading SET head_mm = 32")
	found, err := opened(t, address).Audit(t.Context())
	require.NoError(t, err)
	require.Len(t, found.Broken, 2)
	assert.Equal(t, "audit.guard", found.Broken[0].Why.Code)
	assert.Equal(t, "audit.changed", found.Broken[1].Why.Code)
	run(t, address, "ALTER TABLE reading ENABLE TRIGGER reading_kept",
		"CREATE OR REPLACE FUNCTION kept() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RETURN NEW; END $$")
	found, err = opened(t, address).Audit(t.Context())
	require.NoError(t, err)
	require.Greater(t, len(found.Broken), 10, "every trigger of it")
}

// The address is in a file that others may not read.
func TestAddressInAFile(t *testing.T) {
	address := database(t)
	require.NoError(t, created(t, address).Close())
	path := filepath.Join(t.TempDir(), "trial.linerwatch")
	require.NoError(t, os.WriteFile(path, []byte(address+"\n"), 0o600))
	require.True(t, IsAddress(path))
	files := Files(store.Files())
	s, err := files.Open(t.Context(), path, nil)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	require.NoError(t, os.Chmod(path, 0o640))
	_, err = files.Open(t.Context(), path, nil)
	require.Contains(t, study.Told(err), "chmod 600")
}

// To another machine the server's certificate is checked where nothing else is said.
func TestEncryption(t *testing.T) {
	for address, checked := range map[string]bool{
		"postgres://r@db.example/study":                  true,
		"postgres://r@192.0.2.7/study":                   true,
		"postgres://r@db.example/study?sslmode=disable":  false,
		"postgres://r@localhost/study":                   false,
		"postgres://r@/study?host=/run/postgresql":       false,
		"postgres://r@db.example/study?host=/run/socket": false,
	} {
		c, err := configOf(address)
		require.NoError(t, err)
		var name string
		if c.TLSConfig != nil {
			name = c.TLSConfig.ServerName
		}
		assert.Equal(t, checked, name != "" && len(c.Fallbacks) == 0 && !c.TLSConfig.InsecureSkipVerify, address)
	}
	_, err := Open(t.Context(), "postgres://r:secret@[broken/study")
	require.NotContains(t, study.Told(err), "secret")
	require.NotContains(t, err.Error(), "secret")
}

// A server that shows another's certificate is not talked to.
func TestCertificate(t *testing.T) {
	tls := os.Getenv("LINERWATCH_POSTGRES_TLS")
	if tls == "" {
		t.Skip("needs a PostgreSQL server with a certificate: run .ci/peers store")
	}
	s, err := Create(t.Context(), tls)
	require.NoError(t, err)
	var on bool
	require.NoError(t, s.db.QueryRowContext(t.Context(), "SELECT ssl FROM pg_stat_ssl WHERE pid = pg_backend_pid()").Scan(&on))
	assert.True(t, on)
	require.NoError(t, s.Close())
	_, err = Open(t.Context(), to(t, tls, func(u *url.URL) {
		u.Host = "127.0.0.1:" + u.Port() // the certificate names localhost
	}))
	require.Error(t, err)
	_, err = Open(t.Context(), to(t, tls, func(u *url.URL) {
		q := u.Query()
		q.Del("sslrootcert") // nobody vouches for it
		u.RawQuery = q.Encode()
	}))
	require.Error(t, err)
	var e *pgconn.PgError
	require.False(t, errors.As(err, &e), "it was not the server that refused")
}
