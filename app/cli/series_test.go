package cli_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/cli"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// trade reads the facts of the trade that these films are built with: the rate
// in mm/year, the years of the films and the mm lost at each, by kind of liner.
// Common practice, no source.
func trade(t *testing.T) map[string][]worn {
	f, err := os.Open("../../testdata/trade_wear.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	liners := map[string][]worn{}
	for _, r := range rows[1:] {
		var w worn
		_, err := fmt.Sscan(strings.Join(r[1:], " "), &w.rate, &w.years, &w.lost)
		require.NoError(t, err)
		liners[r[0]] = append(liners[r[0]], w)
	}
	return liners
}

// worn is a liner's rate, mm/year, and what it has lost, mm, after years.
type worn struct{ rate, years, lost float64 }

// TestTradeFilms renders the films and measures them by the command trend. The
// rate must lie inside its interval and the losses be found on each film.
func TestTradeFilms(t *testing.T) {
	liners := trade(t)
	for k, name := range []string{"conventional", "cross-linked"} {
		t.Run(name, func(t *testing.T) {
			films := liners[name]
			require.Len(t, films, 3)
			rate := films[0].rate
			dir := t.TempDir()
			surgery := day("1960-01-01")
			h := phantom.DefaultHip(measure.Right)
			h.HeadMM, h.ShellMM = 36, 55 // walls of 4 mm leave a liner of 5.5 mm
			base := writeWorn(t, dir, h, surgery, 0.02, 0, uint64(10*k))
			for i, w := range films {
				writeWorn(t, dir, h, surgery, w.years, rate*w.years, uint64(10*k+i+1))
			}
			var got struct {
				Penetration []struct {
					Superior float64 `json:"superior_mm"`
				}
				Fit struct {
					N    int
					Rate float64 `json:"rate_mm_per_year"`
					Lo95 float64
					Hi95 float64
				}
				Liner struct {
					Remaining float64 `json:"remaining_mm"`
				}
			}
			runJSON(t, &got, "trend", "--head-mm", "36", "--side", "right", "--surgery", "1960-01-01",
				"--liner-mm", "5.5", "--baseline", base, dir)
			require.Equal(t, len(films), got.Fit.N)
			require.LessOrEqual(t, got.Fit.Lo95, rate)
			require.GreaterOrEqual(t, got.Fit.Hi95, rate)
			require.Len(t, got.Penetration, len(films)+1)
			for i, w := range films {
				require.InDelta(t, w.lost, got.Penetration[i+1].Superior, 0.1, "%g years", w.years)
			}
			require.Less(t, got.Liner.Remaining, 5.5/2, "over half of the liner is gone")
			t.Logf("built in %g, found %.4f (95 %% %.4f to %.4f) mm/year", rate, got.Fit.Rate, got.Fit.Lo95, got.Fit.Hi95)
		})
	}
}

// TestSeriesFilms builds series of six films over ten years at the same two
// rates, with bedding-in and a patient who lies differently each time. An
// interval of 95 % misses one time in twenty by its nature, so one of the four
// may miss; two would happen by chance in one run of seventy.
func TestSeriesFilms(t *testing.T) {
	years := []float64{0.1, 1.1, 2, 4, 7, 10}
	missed := 0
	for _, rate := range []float64{0.2, 0.04} {
		for _, seed := range []uint64{1000, 1001} {
			dir := t.TempDir()
			surgery := day("2004-05-03")
			scene := phantom.Plain(measure.Left)
			scene.Seed = seed
			course := phantom.Course{BeddingIn: 0.15, Rate: rate, Direction: 10, Settle: 0.15}
			scenes := phantom.Series(scene, course, years, phantom.Repositioning{ShiftMM: 3, Degrees: 0.5, BeamMM: 3})
			for i, s := range scenes {
				writeScene(t, dir, s, surgery, years[i])
			}
			var got struct {
				Fit struct {
					N    int
					Rate float64 `json:"rate_mm_per_year"`
					Lo95 float64
					Hi95 float64
				}
			}
			runJSON(t, &got, "trend", "--head-mm", "28", "--side", "left", "--surgery", "2004-05-03", dir)
			up := rate * math.Cos(10*math.Pi/180) // the superior component
			require.Equal(t, 5, got.Fit.N)
			require.InDelta(t, up, got.Fit.Rate, 0.008)
			if up < got.Fit.Lo95 || up > got.Fit.Hi95 {
				missed++
			}
			t.Logf("built in %.4f, found %.4f (95 %% %.4f to %.4f) mm/year", up, got.Fit.Rate, got.Fit.Lo95, got.Fit.Hi95)
		}
	}
	require.LessOrEqual(t, missed, 1)
}

// writeWorn writes a film on which the head has moved up into the liner.
func writeWorn(t *testing.T, dir string, h phantom.Hip, surgery time.Time, years, moved float64, seed uint64) string {
	s := phantom.Default()
	h.Superior = moved
	s.Hips, s.Seed = []phantom.Hip{h}, seed
	return writeScene(t, dir, s, surgery, years)
}

func writeScene(t *testing.T, dir string, s phantom.Scene, surgery time.Time, years float64) string {
	t.Helper()
	s = s.Around(s.Hips[0].Side, 100) // mm: what of a film the reading looks at
	img, err := phantom.Render(s)
	require.NoError(t, err)
	date := surgery.AddDate(0, 0, int(365.25*years+0.5))
	path := filepath.Join(dir, date.Format("20060102")+".dcm")
	require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{
		Pixels: img, Bits: s.Bits, Photometric: "MONOCHROME2", Date: date, PatientCode: "Q7-001",
		Geometry: dicomio.Geometry{Imager: [2]float64{s.Spacing, s.Spacing}},
	}))
	return path
}

// runJSON runs a command, which must succeed, and reads its JSON.
func runJSON(t *testing.T, into any, args ...string) {
	t.Helper()
	var out, errs bytes.Buffer
	env := cli.Env{Stdout: &out, Stderr: &errs, Now: func() time.Time { return day("2040-01-01") }}
	require.Equal(t, 0, cli.Run(t.Context(), append(args, "--format", "json"), env), "%s%s", &out, &errs)
	require.NoError(t, json.Unmarshal(out.Bytes(), into))
}
