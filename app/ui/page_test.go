package ui

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
)

// of returns the page of a type.
func of[P page](d *desk) (p P) {
	for _, any := range d.pages {
		if q, ok := any.(P); ok {
			return q
		}
	}
	d.t.Fatal("no such page")
	return p
}

// inFront is the word of the page in front.
func (d *desk) inFront() string { return d.kinds[d.at].word }

// tally is a page that counts what it is told of.
type tally struct {
	basis
	heards, bells int
	seen          []bool
}

func tallyKind() pageKind {
	return pageKind{
		word: "Tally", does: "what has been counted", turns: named("F12", nil, fyne.KeyF12),
		fill: func(w *window) page { return &tally{basis: basis{w: w, object: widget.NewLabel("counted")}} },
	}
}

func (p *tally) heard(session.Change) { p.heards++ }

func (p *tally) front(on bool) { p.seen = append(p.seen, on) }

func (p *tally) keys() []keyRow {
	return []keyRow{{does: "count one more", keys: []key{letter('J', func() { p.bells++ })}}}
}

// withTally is a desk with a hip, whose window has one page more.
func withTally(t *testing.T) *desk {
	d := newDesk(t)
	d.kinds = append(pageKinds(), tallyKind())
	d.window.fill()
	d.add([]string{filmsIn(t, series...)})
	d.drain()
	d.fill("2004-01-01", "28", "8")
	d.drain()
	return d
}

// A page that is in the list has its button, its keys, their help and its changes,
// and takes nothing from the others.
func TestPageIsRegistered(t *testing.T) {
	d := withTally(t)
	p := of[*tally](d)
	d.press("Tally")
	require.Equal(t, "Tally", d.inFront())
	require.True(t, p.object.Visible())
	require.False(t, d.films.object.Visible())
	require.Equal(t, []bool{true}, p.seen)
	heard := p.heards
	require.Positive(t, heard)
	d.s.Edits().Nudge(0, 1)
	d.drain()
	require.Greater(t, p.heards, heard, "the trend has changed")
	d.letter('j')
	require.Equal(t, 1, p.bells)
	require.Equal(t, session.Hand, d.s.Mouse().Tool(), "the key is the page's now")
	require.Contains(t, d.keyHelp(), keyLine{"F12", "what has been counted"})
	require.Contains(t, d.keyHelp(), keyLine{"J", "count one more"})
	d.key(fyne.KeyF12, false)
	require.Equal(t, "Read", d.inFront(), "its key gives way to the films again")
	require.Equal(t, []bool{true, false}, p.seen)
	heard = p.heards
	d.s.Edits().Nudge(0, 1)
	d.drain()
	require.Equal(t, heard, p.heards, "a page behind is told nothing")
	d.letter('j')
	require.Equal(t, session.LineTool, d.s.Mouse().Tool())
	require.Equal(t, 1, p.bells)
}

// typed types a key in each way that there is, as the toolkit tells it.
func (d *desk) typed(k key) {
	for _, n := range k.names {
		if k.down != nil {
			d.films.view.pane.OnDown(n)
			d.films.view.pane.OnUp(n)
			continue
		}
		d.win.Canvas().OnTypedKey()(&fyne.KeyEvent{Name: n})
	}
	for _, r := range k.runes {
		d.win.Canvas().OnTypedRune()(r)
	}
	if k.ctrl != nil {
		d.win.Canvas().(interface{ TypedShortcut(fyne.Shortcut) }).TypedShortcut(k.ctrl)
	}
}

// Every key of the table is handled on its page, by its own entry alone, and told
// in the help.
func TestKeysAreHandledAndTold(t *testing.T) {
	d := withTally(t)
	done := map[[2]int]int{}
	want := func(k key) int { return len(k.names) + len([]rune(k.runes)) + map[bool]int{true: 1}[k.ctrl != nil] }
	for i := range d.table {
		require.NotEmpty(t, d.table[i].does)
		require.NotEmpty(t, d.table[i].keys[0].label, d.table[i].does)
		require.Contains(t, d.keyHelp(), keyLine{d.table[i].label(), d.table[i].does})
		for j := range d.table[i].keys {
			k, count := &d.table[i].keys[j], func() { done[[2]int{i, j}]++ }
			if k.mouse {
				require.Zero(t, want(*k))
				continue
			}
			require.Positive(t, want(*k), "%s: %s", d.table[i].label(), d.table[i].does)
			require.NotNil(t, k.do)
			k.do, k.shifted = count, nil
			if k.down != nil {
				k.down, k.up = count, func() {}
			}
		}
	}
	for at := range d.kinds {
		d.at = at
		for i, r := range d.table {
			if r.on != everywhere && r.on != at {
				continue
			}
			for j, k := range r.keys {
				if k.ctrl != nil {
					continue // below
				}
				clear(done)
				d.typed(k)
				times := want(k)
				if r.on == everywhere {
					times -= d.taken(at, k)
				} else {
					require.Len(t, done, map[bool]int{false: 1}[k.mouse], "%s on %s", k.label, d.kinds[at].word)
				}
				if !k.mouse {
					require.Equal(t, times, done[[2]int{i, j}], "%s on %s: %s", k.label, d.kinds[at].word, r.does)
				}
			}
		}
	}
}

// taken counts which ways to type a key of every page a page has for itself.
func (d *desk) taken(at int, k key) (n int) {
	for _, r := range d.table {
		for _, q := range r.keys {
			if r.on != at {
				continue
			}
			for _, name := range q.names {
				n += map[bool]int{true: 1}[q.down == nil && slices.Contains(k.names, name)]
			}
			for _, c := range q.runes {
				n += map[bool]int{true: 1}[strings.ContainsRune(k.runes, c)]
			}
		}
	}
	return n
}

// clashes names the keys that two rows of the table have for the same page, or for every page.
func (d *desk) clashes() (list []string) {
	whose := map[string]string{}
	for _, r := range d.table {
		for _, k := range r.keys {
			var ways []string
			for _, n := range k.names {
				ways = append(ways, fmt.Sprint(n, " ", k.down != nil))
			}
			for _, c := range k.runes {
				ways = append(ways, string(c))
			}
			if k.ctrl != nil {
				ways = append(ways, k.ctrl.ShortcutName())
			}
			for _, way := range ways {
				if way = fmt.Sprint(r.on, " ", way); whose[way] != "" {
					list = append(list, whose[way]+" and "+r.does)
				}
				whose[way] = r.does
			}
		}
	}
	return list
}

// No key is bound twice. A page that turns by a key that is another's is objected to, as is
// one whose word is.
func TestKeysAndPagesAreToldApart(t *testing.T) {
	d := withTally(t)
	require.Empty(t, d.clashes())
	words := map[string]bool{}
	for _, k := range d.kinds {
		require.False(t, words[k.word], "two pages are called %s", k.word)
		words[k.word] = true
	}
	for _, turns := range []key{hipsKind().turns, patientKind().turns, letter('3', nil)} {
		twice := tallyKind()
		twice.turns = turns
		d.kinds = append(pageKinds(), twice)
		d.window.fill()
		require.NotEmpty(t, d.clashes(), turns.label)
		for _, c := range d.clashes() {
			require.Contains(t, c, " and "+twice.does)
		}
	}
}

func TestShortcutsAreBound(t *testing.T) {
	d, _ := proposed(t, series...)
	x := d.s.Strip().Selected().Draft.Head.At.X
	d.s.Edits().Nudge(1, 0)
	d.typed(key{ctrl: &fyne.ShortcutUndo{}})
	require.InDelta(t, x, d.s.Strip().Selected().Draft.Head.At.X, 1e-9)
	d.typed(key{ctrl: &fyne.ShortcutRedo{}})
	require.InDelta(t, x+1, d.s.Strip().Selected().Draft.Head.At.X, 1e-9)
	for _, r := range d.table {
		if r.label() == "Ctrl+O" {
			d.typed(r.keys[0])
		}
	}
	require.True(t, d.covered(), "the dialog for a folder is open")
}

// What menus and sentences say of keys is there to be said.
func TestDeedsHaveKeys(t *testing.T) {
	d := newDesk(t)
	for what := acceptReading; what <= seeKeys; what++ {
		require.NotPanics(t, func() { require.NotEmpty(t, d.keyLabel(what)) }, what)
	}
	for what, label := range map[deed]string{drawCircle: "A", refineOutline: "R", leaveOut: "X", nextProposal: "2"} {
		require.Equal(t, label, d.keyLabel(what), "the session's words name it, too")
	}
	require.Equal(t, "The head by three clicks   A", d.films.view.tools.draw()[0].Label)
	require.Equal(t, "Loupe on the rim   , .", d.films.view.tools.shown()[3].Label)
}

// The README names keys of the table only.
func TestReadmeNamesKeysThatThereAre(t *testing.T) {
	d := newDesk(t)
	text, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	require.NoError(t, err)
	_, part, ok := strings.Cut(string(text), "Where the search is wrong")
	require.True(t, ok)
	part, _, ok = strings.Cut(part, "Without the window")
	require.True(t, ok)
	labels := map[string]bool{}
	for _, r := range d.table {
		for _, k := range r.keys {
			labels[k.label] = true
		}
	}
	said := regexp.MustCompile("\\b(F?[0-9]|[A-Z])\\b|`.`").FindAllString(part, -1)
	require.Greater(t, len(said), 10)
	for _, s := range said {
		require.True(t, labels[strings.Trim(s, "`")], "%s is no key", s)
	}
}

func TestAnotherLookKeepsThePage(t *testing.T) {
	d := withTally(t)
	d.letter('e')
	d.key(fyne.KeyF12, false)
	before := of[*tally](d)
	d.switchLook()
	d.drain()
	require.NotSame(t, before, of[*tally](d), "the pages are made anew")
	require.Equal(t, "Tally", d.inFront())
	require.True(t, of[*tally](d).object.Visible())
	d.key(fyne.KeyEscape, false)
	require.Equal(t, "Read", d.inFront())
	require.True(t, d.films.proof.object.Visible(), "what was shown below the film")
}

// What was chosen outlives another page and another look.
func TestChoicesOutliveAnotherPageAndAnotherLook(t *testing.T) {
	d, _ := accepted(t)
	d.letter('p')
	p := of[*coursePage](d)
	p.model.SetSelectedIndex(1)
	p.component.SetSelected("medial")
	p.markers.SetChecked(false)
	p.until.SetValue(15)
	check := func() {
		t.Helper()
		p := of[*coursePage](d)
		require.Equal(t, 15.0, p.until.Value)
		require.Equal(t, "Extrapolated to year 15", p.untilText.Text)
		require.Equal(t, 1, p.model.SelectedIndex())
		require.Equal(t, "medial", p.component.Selected)
		require.False(t, p.markers.Checked)
		require.Contains(t, p.said.Text, "Year 15 if the pace stays")
	}
	check()
	d.key(fyne.KeyEscape, false)
	d.s.Strip().Step(1)
	d.letter('p')
	check()
	d.switchLook()
	d.drain()
	check()

	d.key(fyne.KeyF2, false)
	d.look()
	of[*hipsPage](d).find.SetText("T1")
	d.switchLook()
	d.look()
	require.Equal(t, "T1", of[*hipsPage](d).find.Text, "the words that filter are seen")
	d.doubts[d.s.Strip().Selected()] = true
	d.switchLook()
	require.True(t, d.doubts[d.s.Strip().Selected()], "what was waved through is not asked again")
}

// Studies that were open before stand under Open, but the one that is open.
func TestRecentStudiesStandUnderOpen(t *testing.T) {
	d, dir := accepted(t)
	require.Empty(t, d.recentItems(), "the only one is open")
	other := filepath.Join(dir, "other.linerwatch")
	_, err := d.studies().Create(other)
	require.NoError(t, err)
	require.NoError(t, d.openBook(other))
	items := d.recentItems()
	require.Len(t, items, 3, "after a line and a title")
	require.True(t, items[1].Disabled)
	require.Contains(t, items[2].Label, "s.linerwatch")
	items[2].Action()
	d.opened()
	require.Equal(t, filepath.Join(dir, "s.linerwatch"), d.s.Book().Path())
}

// A key that is held on a page, such as the loupe's, does nothing else when it is typed.
func TestHeldKeysAreNotTyped(t *testing.T) {
	d := newDesk(t)
	for _, r := range d.table {
		for _, k := range r.keys {
			if k.down == nil {
				continue
			}
			for _, name := range k.names {
				_, typed := d.pressed(func(o key) bool {
					return len(name) == 1 && strings.ContainsAny(o.runes, string(name)+strings.ToLower(string(name)))
				})
				require.False(t, typed, "%s is held and typed", name)
			}
		}
	}
}
