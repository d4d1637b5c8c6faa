package ui

import (
	"fmt"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// listDesk is a desk on whose study R1 has read a series, and R2 has a list of a plan.
func listDesk(t *testing.T, plan study.ListPlan) (*desk, study.List, string) {
	d, dir := proposed(t, series...)
	path := filepath.Join(t.TempDir(), "trial-north.linerwatch")
	require.NoError(t, d.settle("R1", path))
	h, _ := d.s.Hip()
	h.Group = "arm-q"
	require.NoError(t, d.s.SetHip(h))
	for i := range d.s.Strip().Films() {
		d.s.Strip().Select(i)
		d.drain()
		require.NoError(t, d.s.Accept())
	}
	plan.Readers = []string{"R2"}
	lists, err := batch.Assign(t.Context(), d.files[path], plan, study.Stamp{Reader: "K1"})
	require.NoError(t, err)
	require.NoError(t, d.s.SetReader("R2"))
	d.drain()
	return d, lists[0], dir
}

// over is a desk whose window is that of a list.
func (d *desk) over(l *window) *desk {
	o := *d
	o.window = l
	return &o
}

// everyText is every text of the window, hidden ones as well: what its objects hold and what
// they draw, its title, its menus, what is drawn on the film, and what can be undone.
func everyText(w *window) (out []string) {
	out = append(out, w.win.Title(), w.s.Notice(), w.s.History().UndoName(), w.s.History().RedoName())
	roots := append([]fyne.CanvasObject{w.win.Content()}, w.win.Canvas().Overlays().List()...)
	for _, root := range roots {
		for _, o := range test.LaidOutObjects(root) {
			switch o := o.(type) {
			case *canvas.Text:
				out = append(out, o.Text)
			case *widget.Label:
				out = append(out, o.Text)
			case *widget.Button:
				out = append(out, o.Text)
			case *field:
				out = append(out, o.Text, o.PlaceHolder)
			case *passingSelect:
				out = append(out, append(slices.Clone(o.Options), o.Selected)...)
			}
		}
	}
	b := w.films.view.tools
	for _, items := range [][]*fyne.MenuItem{b.draw(), b.greys(), b.shown()} {
		for _, m := range items {
			out = append(out, m.Label)
		}
	}
	sc := scene(w.s, w.films.view.layers, 800, 600, 1)
	for _, l := range sc.Labels {
		out = append(out, l.Text)
	}
	for _, m := range sc.Marks {
		out = append(out, m.Text)
	}
	return append(out, fmt.Sprintf("%+v", sc.Bar), fmt.Sprintf("%+v", sc.Arrows))
}

// requireBlind fails where a text tells a code, date, name of a file or an earlier number.
func requireBlind(t *testing.T, w *window, at string, leaks []string) {
	t.Helper()
	texts := everyText(w)
	require.Greater(t, len(texts), 20, at)
	for _, text := range texts {
		for _, leak := range leaks {
			require.NotContains(t, text, leak, "%s: %q", at, text)
		}
		require.NotRegexp(t, aDate, text, at)
	}
}

var aDate = regexp.MustCompile(`\b(19|20)\d\d\b|\byears?\b`)

// everyKey presses what does something on a film that is read, and what would tell more of it
// or leave the list.
func (l *desk) everyKey(t *testing.T, at string, leaks []string) {
	for _, r := range "HCLNMTISAJUWOZF1,.RB2?" {
		l.letter(r)
		l.refresh()
		requireBlind(t, l.window, fmt.Sprint(at, ", key ", string(r)), leaks)
		for l.covered() {
			l.win.Canvas().Overlays().Remove(l.win.Canvas().Overlays().Top())
		}
		l.key(fyne.KeyEscape, false)
	}
	l.drain()
	for _, r := range "XDEGKY<>3" { // what would tell more, or leave the list
		l.letter(r)
		l.drain()
		requireBlind(t, l.window, fmt.Sprint(at, ", key ", string(r)), leaks)
		for l.covered() {
			l.win.Canvas().Overlays().Remove(l.win.Canvas().Overlays().Top())
		}
	}
	for _, k := range []fyne.KeyName{fyne.KeyF1, fyne.KeyF2, fyne.KeyF3, fyne.KeyF4, fyne.KeyF5, fyne.KeyF6, fyne.KeyF7, fyne.KeyPageDown, fyne.KeyHome, fyne.KeyUp} {
		l.key(k, false)
		l.drain()
		requireBlind(t, l.window, fmt.Sprint(at, ", key ", k), leaks)
	}
}

func TestListLeaksNothing(t *testing.T) {
	d, list, dir := listDesk(t, study.ListPlan{Seed: 5, Share: 0.5, Gap: 1, Start: study.StartProposal})
	leaks := []string{"T1", "trial-north", "arm-q", "R1", filepath.Base(dir), ".dcm", "F1", "H1"}
	for _, r := range d.saved() {
		leaks = append(leaks, mm(r.Measurement.Reading.Offset.Superior), r.ID)
	}
	require.Len(t, leaks, 16)
	require.Contains(t, strings.Join(everyText(d.window), "\n"), "T1", "the search finds what a window tells")

	d.turn(d.placeOf("Lists"))
	require.Contains(t, strings.Join(everyText(d.window), "\n"), "L1 · reader R2 · 0 of 6 read")
	l := d.over(d.readList(list.ID))
	for place := range list.Places {
		at := fmt.Sprint("place ", place+1)
		l.refresh()
		requireBlind(t, l.window, at+", opening", leaks)
		l.drain()
		requireBlind(t, l.window, at, leaks)
		l.key(fyne.KeyReturn, false)
		l.drain()
		require.Contains(t, l.s.Notice(), "not graded", at)
		requireBlind(t, l.window, at+", not graded", leaks)
		if place < 2 {
			l.everyKey(t, at, leaks)
		}
		l.letter('5')
		l.drain()
		requireBlind(t, l.window, at+", graded", leaks)
		if l.s.Strip().Selected().Draft == nil { // the film on which nothing is found
			l.letter('Q')
			l.drain()
			continue
		}
		l.key(fyne.KeyReturn, false)
		l.drain()
		requireBlind(t, l.window, at+", accepted", leaks)
	}
	_, over := l.s.Blind().Over()
	require.True(t, over)
	require.Contains(t, strings.Join(everyText(l.window), "\n"), "Every film of the list is read")

	l.press("Leave the list")
	d.drain()
	require.Equal(t, "Lists", d.inFront())
	require.Contains(t, strings.Join(everyText(d.window), "\n"), "L1 · reader R2 · 6 of 6 read")
	n := 0
	for _, r := range d.saved() {
		if r.Listed.List == list.ID {
			n++
		}
	}
	require.Equal(t, 6, n)
	d.openHip(list.Places[0].HipID, func() {})
	d.drain()
	h, _ := d.s.Hip()
	require.Equal(t, "T1", h.Patient, "the study is shown again")
}

// The numbers of a film are shown once its quality is told, where the list says so.
func TestListShowsNumbersAfterTheGrade(t *testing.T) {
	d, list, _ := listDesk(t, study.ListPlan{Seed: 5, Start: study.StartProposal, Shows: true})
	l := d.over(d.readList(list.ID))
	l.drain()
	require.NotContains(t, strings.Join(everyText(l.window), "\n"), "Head centre from cup centre")
	l.press("B")
	l.drain()
	require.Contains(t, strings.Join(everyText(l.window), "\n"), "Head centre from cup centre")
	require.Equal(t, "B", l.s.Blind().Grade().Quality)
}

// The blinding is ended with a reason.
func TestListIsUnblindedWithAReason(t *testing.T) {
	d, list, _ := listDesk(t, study.ListPlan{Seed: 5, Start: study.StartProposal})
	d.turn(d.placeOf("Lists"))
	d.press("End the blinding …")
	d.press("End it")
	require.Contains(t, strings.Join(everyText(d.window), "\n"), "say why")
	onScreen[*field](d.win)[0].SetText("all is read")
	d.press("End it")
	d.drain()
	require.Contains(t, strings.Join(everyText(d.window), "\n"), "by R2: all is read")
	require.Nil(t, d.readList(list.ID))
	require.Contains(t, d.s.Notice(), "closed")
}

// The page shows the pair of readers, with the numbers that the study tells of them.
func TestAgreementPage(t *testing.T) {
	d, list, _ := listDesk(t, study.ListPlan{Seed: 5, Share: 1, Start: study.StartProposal})
	l := d.over(d.readList(list.ID))
	l.drain()
	for i := range list.Places {
		l.s.Edits().Nudge(0.3*float64(1+i%3), 0.2*float64(i%4))
		l.drain()
		require.NoError(t, l.s.Blind().SetGrade("A", ""))
		require.NoError(t, l.s.Accept())
		l.drain()
	}
	l.press("Leave the list")
	d.drain()
	d.turn(d.placeOf("Agreement"))
	p := d.pages[d.at].(*agreementPage)
	come := func() {
		for p.shown < p.asked {
			(<-d.queue)()
		}
		d.drain()
	}
	come()
	require.Equal(t, []string{"R1 less R2, between readers", "R2, one reader, first occasion less second"}, p.pair.Options)
	require.Contains(t, p.said.Text, "Raters: 2, who made 12 readings.")
	require.Contains(t, p.said.Text, "8 readings of blinded lists")
	require.Contains(t, p.numbers.Rows(), widgets.Figure{Name: "bias", Value: "–"})
	require.Contains(t, p.said.Text, "bias: too few films: 1, need 3", "films of one hip are not independent")
	icc := p.got.Quantities[slices.IndexFunc(p.got.Quantities, func(q study.Quantity) bool { return q.Name == "ICC(2,1)" })]
	require.Contains(t, p.numbers.Rows(), widgets.Figure{Name: "ICC(2,1)", Value: signed(icc.Value, 3), Extra: signed(icc.Interval.Lo, 3) + " to " + signed(icc.Interval.Hi, 3)})
	require.Greater(t, len(colorsOf(p.draw(600, 400, 1))), 3)
	before := p.got.Quantities
	p.part.SetSelectedIndex(1)
	come()
	require.NotEqual(t, before, p.got.Quantities)
	p.pair.SetSelectedIndex(1)
	require.Equal(t, "readings repeated by one reader", p.numbers.Rows()[0].Name)
}

// Who has a list to read is shown the lists, and asked before a hip ends the blinding.
func TestHipIsNotOpenedUnasked(t *testing.T) {
	d, list, _ := listDesk(t, study.ListPlan{Seed: 5, Start: study.StartProposal})
	_, known := d.s.Hip()
	require.False(t, known)
	opened := false
	open := func() { d.openHip(list.Places[0].HipID, func() { opened = true }) }
	open()
	require.Contains(t, strings.Join(everyText(d.window), "\n"), "Opening a hip ends your blinding on L1")
	d.press("Go back")
	require.False(t, opened)
	lists, _, err := d.s.Book().Lists()
	require.NoError(t, err)
	require.Nil(t, lists[0].Opened)
	open()
	d.press("End the blinding and open it")
	d.drain()
	require.True(t, opened)
	lists, _, err = d.s.Book().Lists()
	require.NoError(t, err)
	require.Equal(t, "R2", lists[0].Opened.Reader)
}

// Nothing that a window of the study shows while a list is read blind, on any of its pages, in its
// title and in what can be undone, tells a number, to its reader nor to anybody else; what is kept
// of the list's unfinished work names nobody. Who looks says why.
func TestStudyTellsNoNumbersWhileAListIsRead(t *testing.T) {
	home := t.TempDir()
	for _, name := range []string{"HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME", "TMPDIR"} {
		t.Setenv(name, home)
	}
	d, list, dir := listDesk(t, study.ListPlan{Seed: 5, Share: 0.5, Gap: 1, Start: study.StartProposal})
	numbers := []string{"mm/year", "mm/yr"}
	for _, r := range d.saved() {
		numbers = append(numbers, mm(r.Measurement.Reading.Offset.Superior), r.ID)
	}
	names := []string{"T1", "arm-q", filepath.Base(dir), ".dcm"}
	search := func(who string) {
		seen := 0
		for at, k := range d.kinds {
			d.turn(d.home())
			if d.turn(at); d.at != at {
				continue // the page has nothing to show
			}
			d.look() // the hips of the study are read
			d.drain()
			d.refresh()
			seen++
			text := d.win.Title() + "\n" + d.s.Notice() + "\n" + d.s.History().UndoName() + d.s.History().RedoName() + "\n" + shownText(d)
			drawn := "" // of pages behind, too
			for _, o := range onScreen[*canvas.Text](d.win) {
				drawn += "\n" + o.Text
			}
			if k.word == "Hips" {
				for _, row := range of[*hipsPage](d).rows {
					for i, c := range hipCells(row) {
						require.True(t, i < 6 || c.Text == "–" || i == 7, "%s: %+v", who, c)
						text += "\n" + c.Text + "\n" + c.More
					}
				}
				require.Contains(t, text, "T1", "the search finds what the page tells")
			}
			for _, number := range numbers {
				require.NotContains(t, text+drawn, number, "%s: page %s", who, k.word)
			}
			require.Empty(t, d.s.History().UndoName(), who)
			if k.word != "Hips" {
				for _, name := range names {
					require.NotContains(t, text, name, "%s: page %s", who, k.word)
				}
			}
		}
		require.GreaterOrEqual(t, seen, 3, "hips, lists and agreement")
	}
	search("the reader of the list")
	before := filesBelow(t, home)
	l := d.over(d.readList(list.ID))
	l.drain()
	l.s.Edits().Nudge(1, 0)
	require.NoError(t, l.s.Drafts().Flush())
	l.drain()
	kept, ok, err := d.files[d.s.Book().Path()].ListDraft(t.Context(), list.ID, 1)
	require.NoError(t, err)
	require.True(t, ok)
	for _, leak := range append(names, "trial-north", "R1", list.Places[0].HipID, list.Places[0].FilmID) {
		require.NotContains(t, string(kept.Outlines), `"`+leak)
		require.NotContains(t, fmt.Sprint(kept.ListID, kept.Place), leak)
	}
	require.Empty(t, l.s.Book().Recent())
	require.Equal(t, before, filesBelow(t, home), "no file tells of it")
	l.press("Leave the list")
	d.drain()
	search("the reader who left the list")
	require.NoError(t, d.s.SetReader("R7"))
	d.drain()
	search("another code where the list was read")
	d.turn(d.placeOf("Lists"))
	require.NotContains(t, shownText(d), "Show numbers …")
	d.withNumbers(func() { t.Fatal("numbers are shown") })
	require.Contains(t, d.s.Notice(), "was read on this account")
}

// filesBelow are the names of files below dir.
func filesBelow(t *testing.T, dir string) (out []string) {
	require.NoError(t, filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			out = append(out, path)
		}
		return err
	}))
	return out
}

// Somebody who has no list is shown numbers once the reason is told, which the trail keeps.
func TestNumbersAreShownWithAReason(t *testing.T) {
	d, _, _ := listDesk(t, study.ListPlan{Seed: 5, Start: study.StartProposal})
	require.NoError(t, d.s.SetReader("R1"))
	d.drain()
	require.Equal(t, "Lists", d.inFront())
	require.Contains(t, shownText(d), "Rates, trends, readings and exports are hidden")
	d.turn(d.placeOf("Agreement"))
	d.drain()
	require.Contains(t, of[*agreementPage](d).none.Text, "read blind")
	d.turn(d.placeOf("Hips"))
	d.drainUntil(func() bool { return d.s.Overview().Total() > 0 })
	d.press("Write tables …")
	d.press("Show numbers")
	require.Contains(t, shownText(d), "say why")
	onScreen[*field](d.win)[0].SetText("the committee asks")
	d.press("Show numbers")
	d.drain()
	require.Contains(t, shownText(d), "Writes every hip")
	require.False(t, d.s.Book().NumbersHidden())
	tables := filepath.Join(t.TempDir(), "tables")
	d.export(tables, report.KeepOld, false, func(_ string, err error) { require.NoError(t, err) })
	d.drain()
	var told []study.Disclosure
	require.NoError(t, d.files[d.s.Book().Path()].Trail(t.Context(), func(row study.TrailRow) error {
		if row.What == study.DisclosureRow {
			told = append(told, study.DisclosureOf(row))
		}
		return nil
	}))
	require.Len(t, told, 2)
	require.Equal(t, []any{study.ShownNumbers, "R1", "the committee asks", []string{"L1"}}, []any{told[0].Kind, told[0].Reader, told[0].Why, told[0].Lists})
	require.Equal(t, study.WrittenTables, told[1].Kind)
}
