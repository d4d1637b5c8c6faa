package ui

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// oldSide is the side that was corrected, but for films that were left out.
var oldSide = regexp.MustCompile(`(?i)\bleft\b[^-_]`)

// Every figure that is shown in two places is equal, whatever was changed, withdrawn or
// left out before: the numbers of the exported tables, which are not rounded, are put in
// the words of each other place and looked for there.
func TestEveryFigureShownTwiceIsEqual(t *testing.T) {
	d, path := walked(t)
	for _, whose := range []string{study.Anyone, "R2"} {
		for _, h := range d.s.Book().Hips() {
			t.Run(h.Label()+" by "+whose, func(t *testing.T) {
				require.NoError(t, d.s.OpenHip(h.ID))
				require.NoError(t, d.s.Book().SetCounts(whose))
				d.drain()
				code := whose
				if whose == study.Anyone {
					code = "latest"
				}
				n, list, table := exported(t, path, code)
				require.False(t, oldSide.MatchString(n.all), "%q is shown", oldSide.FindString(n.all))
				w := walk{t, d, h, n, list[h.ID+"|"], table}
				w.rates()
				w.films()
				w.readings()
				w.models()
				w.patient()
			})
		}
	}
}

// walk goes through the places that show a hip.
type walk struct {
	t     *testing.T
	d     *desk
	h     study.Hip
	n     numbers
	list  map[string]string // the hip by the command
	table string            // by the command, in words
}

func (w walk) hip() map[string]string { return w.n.hips[w.h.ID+"|"] }

func (w walk) rates() {
	t, hip, d := w.t, w.hip(), w.d
	rate, lo, hi := value(t, hip, "rate_mm_per_year"), value(t, hip, "rate_lo95"), value(t, hip, "rate_hi95")
	require.Equal(t, []float64{rate, lo, hi}, []float64{value(t, w.list, "rate_mm_per_year"), value(t, w.list, "rate_lo95_mm_per_year"), value(t, w.list, "rate_hi95_mm_per_year")})
	interval := signed(lo, 3) + " to " + signed(hi, 3)
	tiles := d.films.trend.tiles
	require.Equal(t, signed(rate, 3)+" mm/year", tiles[0].value.Text, "on the read page")
	require.Contains(t, tiles[0].more.Text, "95 % "+interval)
	if hip["bedding_in_mm"] != study.NotAvailable {
		require.Equal(t, mm(value(t, hip, "bedding_in_mm"))+" mm", tiles[1].value.Text)
		require.Contains(t, tiles[1].more.Text, mm(value(t, hip, "bedding_lo95"))+" to "+mm(value(t, hip, "bedding_hi95")))
	} else {
		require.Empty(t, tiles[1].value.Text)
	}
	require.Equal(t, signed(value(t, hip, "first_to_last_mm_per_year"), 3)+" mm/year", tiles[2].value.Text)

	d.key(fyne.KeyF2, false)
	row := w.listed(func(rate widgets.Cell) bool {
		return rate.Text == tiles[0].value.Text && rate.More == "95 % "+interval
	})
	require.Equal(t, []string{signed(rate, 3) + " mm/year", "95 % " + interval}, []string{row[6].Text, row[6].More}, "in the table of hips")
	require.True(t, strings.HasPrefix(row[5].Text, hip["films_read"]+" of "+hip["films"]), row[5].Text)
	require.Contains(t, row[0].More, "right")
	line := ""
	for _, l := range strings.Split(w.table, "\n") {
		if strings.HasPrefix(l, w.h.Label()) {
			line = l
		}
	}
	require.Contains(t, line, fmt.Sprintf("%s read, %s left out, %s not read", hip["films_read"], hip["films_left_out"], hip["films_unread"]), "of the command")
	within := false
	for places := range 6 { // as many as the interval allows
		within = within || strings.Contains(line, fmt.Sprintf("%.*f (%.*f to %.*f)", places, rate, places, lo, places, hi))
	}
	require.True(t, within, "%s: %g (%g to %g)", line, rate, lo, hi)
}

// listed returns the hip's row in the table of hips once that has been read anew, which
// is when its rate is the one that is awaited.
func (w walk) listed(awaited func(rate widgets.Cell) bool) (row []widgets.Cell) {
	w.t.Helper()
	for {
		for _, r := range of[*hipsPage](w.d).table.Rows() {
			if r[0].Text == w.h.Patient {
				row = r
			}
		}
		if row != nil && awaited(row[6]) {
			return row
		}
		select {
		case f := <-w.d.queue:
			f()
			w.d.refresh()
		case <-time.After(10 * time.Second):
			require.NotNil(w.t, row)
			return row
		}
	}
}

func (w walk) films() {
	t, d := w.t, w.d
	d.key(fyne.KeyF3, false)
	d.drain()
	rows := of[*hipPage](d).films.Rows()
	for i, f := range d.s.Strip().Films() {
		film := w.n.films[f.ID+"|"]
		d.s.Strip().Select(i)
		d.drain()
		require.Equal(t, film["state"] == "left-out", f.State() == session.Excluded)
		reading, row := w.n.readings[film["reading_id"]+"|"], w.n.moved[film["reading_id"]+"|"]
		if film["state"] == "left-out" { // counts in no table of films
			require.Equal(t, study.NotAvailable, film["penetration_superior_mm"])
		} else {
			require.Equal(t, film["penetration_superior_mm"], row["penetration_superior_mm"], "in both tables")
			require.Equal(t, film["se_penetration_medial_mm"], row["se_penetration_medial_mm"])
		}
		sup, se := value(t, row, "penetration_superior_mm"), value(t, row, "se_penetration_superior_mm")
		moved, ok := d.s.Course().Moved(f)
		require.True(t, ok)
		require.Equal(t, sup, moved.Superior, "of the plots, to the last figure")
		switch {
		case film["is_baseline"] == "1":
			require.Equal(t, "baseline", rows[i][2].Text)
		case film["state"] == "read":
			require.Equal(t, mm(sup)+" ± "+mm(se)+" mm", rows[i][2].Text, "on the hip's page")
			w.figure(f, "superior", sup, se)
			w.figure(f, "medial", value(t, film, "penetration_medial_mm"), value(t, film, "se_penetration_medial_mm"))
			w.figure(f, "magnitude", value(t, film, "penetration_magnitude_mm"), math.NaN())
		}
		fig := figures(d.s, f)
		at := 0
		for k := range fig {
			if fig[k].Name == "Head centre from cup centre" {
				at = k
			}
		}
		require.Equal(t, mm(value(t, reading, "offset_superior_mm")), fig[at+1].Value, "on the read page")
		require.Equal(t, mm(value(t, reading, "offset_medial_mm")), fig[at+2].Value)
		require.Equal(t, signed(value(t, reading, "eccentricity"), 3), fig[at+3].Value)
		require.Contains(t, fmt.Sprint(fig), mm(value(t, reading, "thinnest_mm")))
		require.Contains(t, fmt.Sprint(fig), signed(value(t, reading, "mm_per_px"), 5))
		require.Contains(t, fmt.Sprint(d.s.FilmFacts(f)), "from the "+reading["head_mm"]+" mm head")
	}
}

// figure looks for a number of the side panel; the first of a name is the penetration.
func (w walk) figure(f *session.Film, name string, v, se float64) {
	for _, g := range figures(w.d.s, f) {
		if g.Name == name {
			require.Equal(w.t, mm(v), g.Value, "%s on the read page", name)
			if !math.IsNaN(se) {
				require.Equal(w.t, mm(se), g.SE)
			}
			return
		}
	}
	w.t.Fatalf("no figure %q", name)
}

func (w walk) readings() {
	t, d := w.t, w.d
	rows := of[*hipPage](d).readings.Rows()
	n := 0
	for _, r := range w.n.readings {
		if r["hip_id"] != w.h.ID {
			continue
		}
		n++
		require.Equal(t, "28", r["head_mm"])
		if w.h.Patient == "T1" {
			require.Equal(t, "26", r["accepted_head_mm"])
		}
		where := fmt.Sprintf("superior %s ± %s mm|medial %s ± %s mm", mm(value(t, r, "offset_superior_mm")), mm(value(t, r, "se_offset_superior_mm")),
			mm(value(t, r, "offset_medial_mm")), mm(value(t, r, "se_offset_medial_mm")))
		same := 0
		for _, text := range textsOf(rows) {
			stands := strings.Contains(text, "|withdrawn, kept|") == (r["withdrawn_at"] != study.NotAvailable)
			counts := strings.Contains(text, "|counts|") == (r["counts"] == "1")
			if strings.Contains(text, " · "+r["film_date"]+"|") && strings.Contains(text, "|"+r["reader"]+"|") && strings.Contains(text, where) && stands && counts {
				same++
			}
		}
		require.Equal(t, 1, same, "%s of %s, %s, among %v", where, r["film_date"], r["reader"], textsOf(rows))
	}
	require.Len(t, rows, n)
}

func (w walk) models() {
	t, d := w.t, w.d
	d.letter('p')
	d.drain()
	page := of[*coursePage](d)
	for _, m := range page.models {
		fit, ok := w.n.fits[w.h.ID+"|"+m.Name+"|rate|"]
		require.True(t, ok, m.Name)
		if !m.Fitted {
			require.Equal(t, study.NotAvailable, fit["value"])
			continue
		}
		require.Equal(t, value(t, fit, "value"), m.Rate, m.Name)
		if m.HasInterval {
			require.Equal(t, []float64{value(t, fit, "lo95"), value(t, fit, "hi95")}, []float64{m.Lo95, m.Hi95}, m.Name)
		}
	}
	line := w.n.fits[w.h.ID+"|steady-state line|rate|"]
	hip := w.hip()
	for a, b := range map[string]string{"value": "rate_mm_per_year", "se": "se_rate", "lo95": "rate_lo95", "hi95": "rate_hi95"} {
		require.Equal(t, hip[b], line[a], "%s in both tables", b)
	}
	require.Contains(t, page.title.Text, fmt.Sprintf("%s mm/year  (95 %% %s to %s)", signed(value(t, hip, "rate_mm_per_year"), 3),
		signed(value(t, hip, "rate_lo95"), 3), signed(value(t, hip, "rate_hi95"), 3)))
	d.key(fyne.KeyEscape, false)
}

func (w walk) patient() {
	t, d := w.t, w.d
	d.letter('v')
	d.drain()
	defer d.key(fyne.KeyEscape, false)
	p := of[*patientView](d)
	require.Contains(t, p.title.Text, "Your right hip")
	text := p.words.String()
	last := map[string]string{}
	for _, f := range w.n.films {
		if f["hip_id"] == w.h.ID && f["state"] == "read" && f["film_date"] > last["film_date"] {
			last = f
		}
	}
	length := value(t, last, "penetration_magnitude_mm")
	require.Regexp(t, fmt.Sprintf(`(%s|%s) millimetres \(mm\) from the first film to the last one`, signed(length, 1), signed(length, 2)), text)
	hip := w.hip()
	lo, hi := value(t, hip, "rate_lo95"), value(t, hip, "rate_hi95")
	rate, places := value(t, hip, "rate_mm_per_year"), 2
	if hi-lo < 0.02 {
		places = 3
	}
	if signed(lo, places) == signed(hi, places) {
		require.Contains(t, text, fmt.Sprintf("about %s mm a year; the films agree on it closely", mm(rate)))
	} else {
		require.Contains(t, text, fmt.Sprintf("about %s mm a year", signed(rate, places)))
		require.Contains(t, text, fmt.Sprintf("between %s and %s mm a year", signed(lo, places), signed(hi, places)))
	}
	require.Contains(t, text, fmt.Sprintf("On %s X-ray films", hip["films_read"]))
}

// Outlines that nobody has accepted count on the read page and nowhere else: it says so.
func TestReadPageSaysWhatIsNotAccepted(t *testing.T) {
	d, _ := walked(t)
	require.NotContains(t, d.films.trend.tiles[0].more.Text, "not accepted")
	d.s.Strip().Select(4)
	d.s.Edits().Nudge(0, 5)
	d.drain()
	require.Contains(t, d.films.trend.tiles[0].more.Text, ", with 1 film not accepted")
	d.letter('p')
	d.drain()
	require.Contains(t, of[*coursePage](d).title.Text, " · with 1 film not accepted")
}

func TestHipPageListsChanges(t *testing.T) {
	d, _ := walked(t)
	require.False(t, d.covered())
	d.key(fyne.KeyF3, false)
	d.drain()
	text := of[*hipPage](d).changes.Text
	lines := strings.Split(text, "\n")
	require.Len(t, lines, 3, text)
	require.Contains(t, lines[1], ", R7: side right, was left; head diameter 28 mm, was 26 mm")
	require.Contains(t, lines[2], ": entered")
	d.s.History().Undo()
	d.drain()
	require.Contains(t, of[*hipPage](d).changes.Text, ", R7: side left, was right; head diameter 26 mm, was 28 mm")
}
