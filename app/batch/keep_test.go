package batch_test

import (
	"image"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
)

// Films are kept once, one that cannot be read is told, and one of the other side by its
// file is not put to the hip.
func TestKeepFilms(t *testing.T) {
	dir, ctx := t.TempDir(), t.Context()
	write := func(name, side string, grey byte, patient ...string) string {
		img := image.NewGray16(image.Rect(0, 0, 20, 20))
		img.Pix[1] = grey
		path := filepath.Join(dir, name)
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{Pixels: img, Bits: 12, Photometric: "MONOCHROME2", Laterality: side, PatientCode: strings.Join(patient, ""),
			Date: time.Date(2012, 3, int(grey)+1, 0, 0, 0, 0, time.UTC)}))
		return path
	}
	left, right, both := write("l.dcm", "L", 1), write("r.dcm", "R", 2), write("b.dcm", "", 3)
	broken := filepath.Join(dir, "broken.dcm")
	require.NoError(t, os.WriteFile(broken, []byte("no film"), 0o600))
	st := new(storetest.Memory)
	by := study.Stamp{Reader: "R1"}
	hip, err := st.SaveHip(ctx, study.Hip{Patient: "Q7", Side: measure.Left, StartYears: 1}, by)
	require.NoError(t, err)

	k, err := batch.KeepFilms(ctx, st, []string{left, broken}, study.Hip{}, by, nil)
	require.NoError(t, err)
	require.Equal(t, 1, k.Saved)
	require.Contains(t, k.Faults[broken], "neither DICOM")
	waiting, err := st.Unsorted(ctx)
	require.NoError(t, err)
	require.Len(t, waiting, 1)

	found, err := batch.HipNamed(ctx, st, "q7 LEFT")
	require.NoError(t, err)
	require.Equal(t, hip.ID, found.ID)
	k, err = batch.KeepFilms(ctx, st, []string{left, right, both}, found, by, nil)
	require.NoError(t, err)
	require.Equal(t, batch.Kept{Saved: 2, There: 1, Apart: []batch.Apart{{Path: right, Kind: study.Kind{Side: measure.Right}}}, Faults: map[string]string{}}, k)
	films, err := st.Films(ctx, hip.ID)
	require.NoError(t, err)
	require.Len(t, films, 2)
	_, err = batch.HipNamed(ctx, st, "Q8 left")
	require.Equal(t, "no hip Q8 left in the study", study.Told(err))

	// Films of another patient, whether the study has them or not, and that a film is of
	// another's hip already.
	other, err := st.SaveHip(ctx, study.Hip{Patient: "Q9", Side: measure.Left, StartYears: 1}, by)
	require.NoError(t, err)
	theirs := []string{write("1.dcm", "L", 4, "Q8"), write("2.dcm", "L", 5, "Q8"), both}
	_, err = batch.KeepFilms(ctx, st, theirs[:1], study.Hip{}, by, nil)
	require.NoError(t, err)
	k, err = batch.KeepFilms(ctx, st, theirs, other, by, nil)
	require.NoError(t, err)
	q8 := study.Kind{Patient: "Q8", Side: measure.Left}
	require.Equal(t, []batch.Apart{{Path: theirs[0], Kind: q8}, {Path: theirs[1], Kind: q8}, {Path: both, Hip: "Q7 left"}}, k.Apart)
	films, err = st.Films(ctx, other.ID)
	require.NoError(t, err)
	require.Empty(t, films)

	// A file with the picture of a film of the study, and another patient.
	k, err = batch.KeepFilms(ctx, st, []string{write("q8.dcm", "L", 4, "Q7")}, hip, by, nil)
	require.NoError(t, err)
	require.Len(t, k.Contradicts, 1)
	require.Equal(t, []batch.Apart{{Path: filepath.Join(dir, "q8.dcm"), Kind: q8}}, k.Apart, "the study has it as another's")
}
