package central

import (
	"fmt"
	"net/url"
	"slices"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

func userOf(t *testing.T, address string) string {
	t.Helper()
	u, err := url.Parse(address)
	require.NoError(t, err)
	return u.User.Username()
}

// A user reads under the codes granted to it, whatever the program says of itself.
func TestCodes(t *testing.T) {
	ctx := t.Context()
	address := database(t)
	h, f := seeded(t, address)
	reader, coordinator := as(t, address, "reader"), as(t, address, "coordinator")
	grant(t, address, coordinator, "K")
	boss := opened(t, coordinator)
	require.NoError(t, boss.Grant(ctx, userOf(t, reader), []string{"R1", "A", "R1"}, by))
	all, err := boss.Codes(ctx)
	require.NoError(t, err)
	assert.Equal(t, map[string][]string{userOf(t, reader): {"A", "R1"}, userOf(t, coordinator): {"K"}}, all)

	under := func(code string) map[string]func(s *DB) error {
		stamp := study.Stamp{Reader: code, At: by.At, Version: by.Version}
		r := storetest.Reading("of "+code+" "+t.Name(), h, f)
		r.Reader = code
		return map[string]func(s *DB) error{
			"read": func(s *DB) error { return s.AddReading(ctx, r) },
			"grade": func(s *DB) error {
				return s.AddGrade(ctx, study.Grade{HipID: h.ID, FilmID: f.ID, Quality: "A", Stamp: stamp})
			},
			"leave": func(s *DB) error {
				return s.AddExclusion(ctx, study.Exclusion{HipID: h.ID, FilmID: f.ID, Reader: code, At: by.At})
			},
			"look": func(s *DB) error {
				return s.AddDisclosure(ctx, study.Disclosure{Kind: study.ShownNumbers, Stamp: stamp})
			},
			"add film": func(s *DB) error {
				_, err := s.AddFilms(ctx, []study.Film{storetest.Film("by "+code, "2004-06-14")}, stamp)
				return err
			},
		}
	}
	for _, c := range []struct {
		user, code string
		refused    []string
	}{
		{reader, "R1", nil},
		{reader, "A", nil},
		{reader, "R2", []string{"read", "grade", "leave", "look", "add film"}},
		{reader, "K", []string{"read", "grade", "leave", "look", "add film"}},
		{reader, "", []string{"read", "grade", "leave"}}, // the program itself has no code
		{coordinator, "K", nil},
		{coordinator, "R2", []string{"read", "grade"}},
		{address, "R9", nil}, // the owner
	} {
		for name, do := range under(c.code) {
			t.Run(fmt.Sprint(userOf(t, c.user), " ", c.code, " ", name), func(t *testing.T) {
				s := opened(t, c.user)
				was, err := trailEnd(ctx, s.db)
				require.NoError(t, err)
				err = do(s)
				if !slices.Contains(c.refused, name) {
					require.NoError(t, err)
					return
				}
				require.ErrorIs(t, err, errDenied)
				assert.Contains(t, study.Told(err), fmt.Sprintf("may not read under the code %q: a coordinator grants it", c.code))
				now, err := trailEnd(ctx, s.db)
				require.NoError(t, err)
				assert.Equal(t, was, now, "nothing is written")
			})
		}
	}
	require.NoError(t, boss.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "of A " + t.Name(), Reader: "K", At: by.At}))
	s := opened(t, reader)
	require.ErrorIs(t, s.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "of A " + t.Name(), Reader: "K", Back: true, At: by.At}), errDenied)
	require.NoError(t, s.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "of A " + t.Name(), Reader: "A", Back: true, At: by.At}))
	require.ErrorIs(t, s.Grant(ctx, userOf(t, reader), []string{"R2"}, by), errDenied, "nobody grants himself what a coordinator does")

	require.NoError(t, boss.Grant(ctx, userOf(t, reader), nil, by))
	again := storetest.Reading("again", h, f)
	again.Reader = "A"
	require.ErrorIs(t, s.AddReading(ctx, again), errDenied, "taken away")
	for _, nobody := range []string{"nobody", userOf(t, as(t, address, "auditor"))} {
		assert.Contains(t, study.Told(boss.Grant(ctx, nobody, []string{"R1"}, by)), nobody+" is no user of the database with the role")
	}
	found, err := boss.Audit(ctx)
	require.NoError(t, err)
	assert.Empty(t, found.Broken)
}

// A table of one's own that is named like one of the study leads no guard astray.
func TestGuardsAreNotLedAstray(t *testing.T) {
	ctx := t.Context()
	address := database(t)
	h, f := seeded(t, address)
	reader := as(t, address, "reader")
	s := opened(t, reader)
	s.db.SetMaxOpenConns(1)
	for _, statement := range []string{
		"CREATE TEMP TABLE setting AS SELECT 'reader codes' AS key, '{\"" + userOf(t, reader) + "\": [\"R1\"]}' AS value",
		"CREATE TEMP TABLE trail_end AS SELECT 1 AS one, 40::bigint AS seq, 'x' AS hash",
	} {
		_, err := s.db.ExecContext(ctx, statement)
		require.NoError(t, err)
	}
	_, err := s.db.ExecContext(ctx, "INSERT INTO linerwatch.grade (hip_id, film_id, quality, note, reader, at, version) VALUES ($1, $2, 'A', '', 'R1', '', '')", h.ID, f.ID)
	var e *pgconn.PgError
	require.ErrorAs(t, err, &e)
	assert.Equal(t, "LW004", e.Code)
	sum := study.TrailRow{Seq: 41, What: "hip", ID: "H1"}.Sum("x")
	_, err = s.db.ExecContext(ctx, "INSERT INTO linerwatch.trail VALUES (41, $2, '', '', 'hip', 'H1', '', '', '', $1)", sum, "0001-01-01T00:00:00Z")
	require.ErrorAs(t, err, &e)
	assert.Equal(t, "LW003", e.Code)
}

// Coordinators at two sites grant codes at once: none is lost.
func TestTwoGrant(t *testing.T) {
	address := database(t)
	require.NoError(t, created(t, address).Close())
	users := []string{userOf(t, as(t, address, "reader")), userOf(t, as(t, address, "coordinator"))}
	a, b := opened(t, address), opened(t, address)
	var wait sync.WaitGroup
	var errs [2]error
	for i, s := range []*DB{a, b} {
		wait.Go(func() { errs[i] = s.Grant(t.Context(), users[i], []string{fmt.Sprint("R", i)}, by) })
	}
	wait.Wait()
	require.Equal(t, [2]error{}, errs)
	all, err := a.Codes(t.Context())
	require.NoError(t, err)
	assert.Equal(t, map[string][]string{users[0]: {"R0"}, users[1]: {"R1"}}, all)
}

// Readers at two sites read at once, each under its own code: every reading is kept, in one chain.
func TestTwoSitesRead(t *testing.T) {
	const each = 25
	ctx := t.Context()
	address := database(t)
	h, f := seeded(t, address)
	users := []string{as(t, address, "reader"), as(t, address, "coordinator")}
	var wait sync.WaitGroup
	errs := make([]error, len(users))
	for i, user := range users {
		code := fmt.Sprint("R", i)
		grant(t, address, user, code)
		s := opened(t, user)
		wait.Go(func() {
			last := ""
			for n := range each {
				r := storetest.Reading(fmt.Sprint(code, "-", n), h, f)
				r.Reader, r.Supersedes = code, last
				if errs[i] = s.AddNext(ctx, r); errs[i] != nil {
					return
				}
				last = r.ID
			}
		})
	}
	wait.Wait()
	require.Equal(t, []error{nil, nil}, errs)
	found, err := opened(t, address).Audit(ctx)
	require.NoError(t, err)
	assert.Empty(t, found.Broken)
	assert.Equal(t, 2*each, found.Readings)
	t.Logf("peers: %d readings by two users at once, each under its own code, in one chain of %d rows", found.Readings, found.Changes)
}
