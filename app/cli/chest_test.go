package cli_test

import (
	"bytes"
	"encoding/json"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/cli"
)

// chestFilm is a real chest film, 2140 rows x 1760 columns, MONOCHROME1, among the
// test data of the DICOM module that go.mod names.
func chestFilm(t *testing.T) string {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/suyashkumar/dicom").Output()
	if err != nil {
		t.Skip("the go command does not find the DICOM module's test data")
	}
	path := filepath.Join(strings.TrimSpace(string(out)), "testdata", "4.dcm")
	if _, err := os.Stat(path); err != nil {
		t.Skip("the DICOM module has come without its test data")
	}
	return path
}

// A film without a hip is opened and refused, whatever the head may measure.
func TestChestFilmIsRefused(t *testing.T) {
	path := chestFilm(t)
	for _, args := range [][]string{
		{"--head-mm", "22"}, {"--head-mm", "28"}, {"--head-mm", "32"}, {"--head-mm", "36"}, {"--head-mm", "44"},
		{"--head-mm", "28", "--side", "right"}, {"--head-mm", "28", "--side", "left"},
	} {
		var out, errs bytes.Buffer
		args = append([]string{"measure", path, "--ap", path, "--format", "json"}, args...)
		require.Equal(t, 1, cli.Run(t.Context(), args, cli.Env{Stdout: &out, Stderr: &errs}), args)
		require.Regexp(t, `^linerwatch: measure: nothing was outlined on 1 of 1 films; .*\n$`, errs.String())
		var films []struct{ Status, Reason, Date string }
		require.NoError(t, json.Unmarshal(out.Bytes(), &films))
		require.Len(t, films, 1)
		require.Equal(t, "refused", films[0].Status, args)
		require.Contains(t, films[0].Reason, "no hip prosthesis")
		require.Equal(t, "2012-01-15", films[0].Date)
	}
}

// It is shown as a reader wants it: lungs and the air beside the patient dark,
// spine and marker bright.
func TestChestFilmIsShown(t *testing.T) {
	path, shown := chestFilm(t), filepath.Join(t.TempDir(), "shown.png")
	var out, errs bytes.Buffer
	require.Equal(t, 0, cli.Run(t.Context(), []string{"film", path, "--display", shown}, cli.Env{Stdout: &out, Stderr: &errs}), errs.String())
	for _, want := range []string{"implicit little endian", "1760 x 2140 px", "10 of 16 bits, high bit 9, unsigned, MONOCHROME1",
		"0.2 x 0.2 mm (imager) Imager Pixel Spacing (0018,1164), used", "window 1023 wide at 511, LINEAR"} {
		require.Contains(t, out.String(), want)
	}
	f, err := os.Open(shown)
	require.NoError(t, err)
	defer f.Close()
	img, err := png.Decode(f)
	require.NoError(t, err)
	require.Equal(t, image.Rect(0, 0, 1760, 2140), img.Bounds())
	grey := img.(*image.Gray)
	mean := func(x, y int) float64 { // of 40 x 40 pixels
		sum := 0
		for i := range 1600 {
			sum += int(grey.GrayAt(x+i%40, y+i/40).Y)
		}
		return float64(sum) / 1600
	}
	for name, at := range map[string][2]int{"right lung": {600, 900}, "left lung": {1340, 600}, "air": {10, 1300}} {
		require.Less(t, mean(at[0], at[1]), 90.0, name)
	}
	for name, at := range map[string][2]int{"spine": {900, 1200}, "below the diaphragm": {500, 1600}} {
		require.Greater(t, mean(at[0], at[1]), 150.0, name)
	}
	require.EqualValues(t, 255, grey.GrayAt(218, 75).Y, "the upright of the R")
}

// Nothing that tells whose it is comes through.
func TestChestFilmWithoutIdentity(t *testing.T) {
	path := chestFilm(t)
	t.Chdir(t.TempDir())
	run := func(to any, args ...string) {
		var out, errs bytes.Buffer
		require.Equal(t, 0, cli.Run(t.Context(), args, cli.Env{Stdout: &out, Stderr: &errs}), errs.String())
		require.NoError(t, json.Unmarshal(out.Bytes(), to))
	}
	var facts []struct{ Patient string }
	run(&facts, "film", "--format", "json", path)
	var copies []struct{ Written, Patient string }
	run(&copies, "deidentify", "--key-file", "k", "--out", "out", "--format", "json", path)
	was, err := os.ReadFile(path)
	require.NoError(t, err)
	is, err := os.ReadFile(copies[0].Written)
	require.NoError(t, err)
	for _, mark := range []string{facts[0].Patient, "20120115", "1.3.6.1.4.1."} {
		require.True(t, contains(was, mark), mark)
		require.False(t, contains(is, mark), mark)
	}
	require.True(t, contains(is, copies[0].Patient))
}
