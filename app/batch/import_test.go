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
