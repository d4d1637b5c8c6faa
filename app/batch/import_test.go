package batch_test

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/roster"
	"linerwatch/app/store"
	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// cohort are the 30 hips of a workbook (roster/testdata) with what is told of its columns.
func cohort() batch.Tables {
	return batch.Tables{HipsFile: "../roster/testdata/hips.xlsx", Now: day(2040, 1),
		Given: []roster.Given{{Column: "BMI", To: "patient:number:kg/m2"}, {Column: "Smoker", To: "patient:yes-no"}}}
}

// grove writes small films, five of each right hip of the cohort.
func grove(t *testing.T, dir string) {
	t.Helper()
	for p := range 26 {
		for i := range 5 {
			img := image.NewGray16(image.Rect(0, 0, 20, 20))
			img.SetGray16(0, 0, color.Gray16{Y: uint16(5*p + i + 1)})
			code := fmt.Sprintf("P%02d", p+1)
			require.NoError(t, os.MkdirAll(filepath.Join(dir, code), 0o700))
			require.NoError(t, dicomio.WriteFile(filepath.Join(dir, code, fmt.Sprint(i, ".dcm")), &dicomio.Film{Pixels: img, Bits: 12,
				Photometric: "MONOCHROME2", View: "AP", PatientCode: code, Laterality: "R", Date: day(2003+i, 1)}))
		}
	}
}

// imported does what the command study import does.
func imported(ctx context.Context, st study.Store, dir string, by study.Stamp, tell func(string)) error {
	roll, err := batch.PlanRoll(ctx, st, cohort())
	if err != nil {
		return err
	}
	tell("begun import")
	if err := roll.Enter(ctx, st, by); err != nil {
		return err
	}
	tell("kept tables")
	p, err := batch.PlanFiling(ctx, st, []string{dir}, roll.Hips, batch.FilingOptions{Now: day(2040, 1)}, nil)
	if err != nil {
		return err
	}
	return p.Keep(ctx, st, by, func(done, _ int) { tell(fmt.Sprint("kept films ", done)) })
}

// What is entered is as the table has it, with who and why, and once.
func TestRoll(t *testing.T) {
	ctx, st := t.Context(), new(storetest.Memory)
	dir := t.TempDir()
	grove(t, dir)
	by := study.Stamp{Reader: "C1", At: day(2039, 1), Version: "0.9", Why: "first"}
	require.NoError(t, imported(ctx, st, dir, by, func(string) {}))
	hips, err := st.Hips(ctx)
	require.NoError(t, err)
	require.Len(t, hips, 30)
	r := record(t, st, hips[2])
	require.Equal(t, "P02 right", r.Hip.Label())
	require.Equal(t, study.Implant{HeadMM: 36, LinerMM: 6, PE: "conventional"}, r.Hip.Implant)
	require.Equal(t, []any{"B", 52.0, "female"}, []any{r.Hip.Group, r.Hip.Age, r.Patient.Sex})
	require.Equal(t, []study.Value{{Of: study.OfPatient, Name: "bmi", ID: "/P02", Text: "22.2"}, {Of: study.OfPatient, Name: "smoker", ID: "/P02", Text: "no"}}, r.Values)
	require.Len(t, r.Films, 5)
	changes, err := st.HipChanges(ctx, r.Hip.ID)
	require.NoError(t, err)
	require.Len(t, changes, 1)
	require.Equal(t, by, changes[0].Stamp)

	roll, err := batch.PlanRoll(ctx, st, cohort())
	require.NoError(t, err)
	require.True(t, roll.Empty())
	require.Equal(t, 30, roll.Same)
	p, err := batch.PlanFiling(ctx, st, []string{dir}, roll.Hips, batch.FilingOptions{Now: day(2040, 1)}, nil)
	require.NoError(t, err)
	require.False(t, p.Writes())
}

const killedImport = "LINERWATCH_TEST_KILLED_IMPORT"

// TestKilledImportChild is the child of TestKilledImport: it imports until it is killed.
func TestKilledImportChild(t *testing.T) {
	dir := os.Getenv(killedImport)
	if dir == "" {
		t.Skip("runs as a child of TestKilledImport only")
	}
	st, err := store.Files().Open(t.Context(), filepath.Join(dir, "s"+study.FileExt), nil)
	require.NoError(t, err)
	tell := func(text string) { fmt.Println(text) }
	require.NoError(t, imported(t.Context(), st, filepath.Join(dir, "films"), study.Stamp{Reader: "C1"}, tell))
	require.NoError(t, st.Close())
	tell("over")
}

// A program killed at random moments of an import has entered the tables whole or not at all,
// and the same import goes on to what one that nobody stopped comes to.
func TestKilledImport(t *testing.T) {
	kills := 200
	if testing.Short() {
		kills = 6
	}
	dir := t.TempDir()
	grove(t, filepath.Join(dir, "films"))
	path := filepath.Join(dir, "s"+study.FileExt)
	want := new(storetest.Memory)
	require.NoError(t, imported(t.Context(), want, filepath.Join(dir, "films"), study.Stamp{Reader: "C1"}, func(string) {}))
	for kills > 0 {
		require.NoError(t, os.RemoveAll(path))
		st, err := store.Files().Create(path)
		require.NoError(t, err)
		require.NoError(t, st.Close())
		for tables, over := false, false; !over; {
			after := time.Duration(rand.IntN(160)) * time.Millisecond
			if kills == 0 {
				after = time.Hour
			}
			lines := killed(t, "TestKilledImportChild", []string{killedImport + "=" + dir}, after)
			for _, l := range lines {
				tables = tables || l == "kept tables"
				over = over || l == "over"
			}
			if !over {
				kills--
			}
			st, err = store.Files().Open(t.Context(), path, nil)
			require.NoError(t, err)
			require.NoError(t, st.Check(t.Context()))
			hips, err := st.Hips(t.Context())
			require.NoError(t, err)
			require.Contains(t, []int{0, 30}, len(hips), "all or nothing")
			require.False(t, tables && len(hips) == 0, "what was told as kept is there")
			if over {
				same(t, want, st)
			}
			require.NoError(t, st.Close())
		}
	}
}

// same compares what two studies have of their hips.
func same(t *testing.T, want, got study.Store) {
	t.Helper()
	hips, err := want.Hips(t.Context())
	require.NoError(t, err)
	for _, h := range hips {
		a, b := record(t, want, h), record(t, got, h)
		require.Equal(t, a.Hip, b.Hip)
		require.Equal(t, a.Patient, b.Patient)
		require.Equal(t, a.Values, b.Values)
		require.Equal(t, pictures(a), pictures(b))
	}
}

func pictures(r study.Record) (list []string) {
	for _, f := range r.Films {
		list = append(list, f.Facts.PixelKey)
	}
	return list
}

// plan plans tables that are written here.
func plan(t *testing.T, st study.Store, hips, events string) batch.Roll {
	t.Helper()
	dir := t.TempDir()
	tables := batch.Tables{Now: day(2040, 1)}
	for _, f := range []struct {
		name, text string
		at         *string
	}{{"hips.csv", hips, &tables.HipsFile}, {"events.csv", events, &tables.EventsFile}} {
		if f.text != "" {
			*f.at = filepath.Join(dir, f.name)
			require.NoError(t, os.WriteFile(*f.at, []byte(f.text), 0o600))
		}
	}
	r, err := batch.PlanRoll(t.Context(), st, tables)
	require.NoError(t, err)
	return r
}

// One code at two sites is two patients; a row without a site is of the only one that fits.
func TestRollOfSites(t *testing.T) {
	st := new(storetest.Memory)
	by := study.Stamp{Reader: "C1"}
	r := plan(t, st, "site,patient,side,surgery,head_mm\nS,A,right,2001-01-01,28\nT,A,right,2002-01-01,32\nT,B,left,2002-01-01,32\n", "")
	require.Empty(t, r.Bad)
	require.NoError(t, r.Enter(t.Context(), st, by))
	sites, err := st.Sites(t.Context())
	require.NoError(t, err)
	require.Len(t, sites, 2)
	r = plan(t, st, "patient,side,group\nB,left,G\nA,right,G\n", "")
	require.Equal(t, []string{"hips.csv: line 3, column patient, \"A\": 2 hips of the study are alike to the row: name the site"}, r.BadTold())
	require.Error(t, r.Enter(t.Context(), st, by))
	r = plan(t, st, "patient,side,group\nB,left,G\n", "")
	require.Equal(t, []string{"T B left: group G, was not known"}, r.Changes)
}

// An event is entered once; one that says otherwise takes its place, and both are kept. A
// death is of both hips.
func TestRollOfEvents(t *testing.T) {
	st := new(storetest.Memory)
	by := study.Stamp{Reader: "C1", At: day(2039, 1)}
	enter := func(hips, events string) batch.Roll {
		r := plan(t, st, hips, events)
		require.Empty(t, r.BadTold())
		require.NoError(t, r.Enter(t.Context(), st, by))
		return r
	}
	enter("patient,side,surgery,head_mm\nA,right,2001-01-01,28\nA,left,2002-01-01,28\n",
		"patient,side,event,date,head_mm\nA,right,Head exchanged,2005-01-01,32\nA,,death,2010-01-01,\n")
	hips, err := st.Hips(t.Context())
	require.NoError(t, err)
	standing := func(i int) (list []string) {
		all, err := st.Events(t.Context(), hips[i].ID)
		require.NoError(t, err)
		for _, e := range study.StandingEvents(all) {
			list = append(list, fmt.Sprintf("%s %d %g %s", e.Kind, e.Date.Year(), e.Implant.HeadMM, e.Reader))
		}
		return list
	}
	require.Equal(t, []string{"head exchanged 2005 32 C1", "death 2010 0 C1"}, standing(0))
	require.Equal(t, []string{"death 2010 0 C1"}, standing(1))
	again := enter("", "patient,side,event,date,head_mm\nA,right,head exchanged,2005-01-01,32\nA,,death,2010-01-01,\n")
	require.True(t, again.Empty())
	r := enter("", "patient,side,event,date,head_mm\nA,right,head exchanged,2005-01-01,36\n")
	require.Equal(t, 1, r.Corrected)
	require.Equal(t, []string{"head exchanged 2005 36 C1", "death 2010 0 C1"}, standing(0))
	r = plan(t, st, "", "patient,side,event,date\nA,right,lost,2000-01-01\nA,right,cup revised,2041-01-01\nA,right,death,\nA,,cup revised,2006-01-01\n")
	require.Len(t, r.Bad, 4)
}

// A picture that the study has of one patient is not taken for another's, however it is named.
func TestFilingOfTwoPatients(t *testing.T) {
	st := new(storetest.Memory)
	by := study.Stamp{Reader: "C1"}
	roll := plan(t, st, "patient,side,surgery,head_mm\nA,right,2001-01-01,28\nB,right,2001-01-01,28\n", "")
	require.NoError(t, roll.Enter(t.Context(), st, by))
	write := func(dir, code string, n int) {
		for i := range n {
			img := image.NewGray16(image.Rect(0, 0, 20, 20))
			img.Pix[1] = byte(i + 1)
			require.NoError(t, dicomio.WriteFile(filepath.Join(dir, fmt.Sprint(i, ".dcm")), &dicomio.Film{Pixels: img, Bits: 12,
				Photometric: "MONOCHROME2", View: "AP", PatientCode: code, Laterality: "R", Date: day(2003+i, 1)}))
		}
	}
	first, second := t.TempDir(), t.TempDir()
	write(first, "A", 3)
	write(second, "B", 2)
	file := func(dirs ...string) *batch.Filing {
		p, err := batch.PlanFiling(t.Context(), st, dirs, roll.Hips, batch.FilingOptions{Now: day(2040, 1)}, nil)
		require.NoError(t, err)
		require.NoError(t, p.Keep(t.Context(), st, by, nil))
		return p
	}
	require.Equal(t, 3, file(first).Links)
	for _, p := range []*batch.Filing{file(second), file(second, first)} {
		require.Equal(t, []batch.Shared{{A: "A", B: "B", N: 2}}, p.Shared)
		require.Len(t, p.Waiting, 2)
		require.Equal(t, "place.two", p.Waiting[0].Why.Code)
		require.False(t, p.Writes())
	}
	hips, err := st.Hips(t.Context())
	require.NoError(t, err)
	require.Len(t, record(t, st, hips[0]).Films, 3)
	require.Empty(t, record(t, st, hips[1]).Films)
}
