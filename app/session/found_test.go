package session

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// views makes the films in a folder named for a view position films of that.
func (b *bench) views(positions ...string) {
	open := b.cfg.Open
	b.cfg.Open = func(path string) (*filmFile, error) {
		f, err := open(path)
		if p := filepath.Base(filepath.Dir(path)); err == nil && slices.Contains(positions, p) {
			f.View, f.PatientCode, f.Laterality = p, "T1", "R"
		}
		return f, err
	}
}

func onDay(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }

// Everything that was opened is told once: by patient and side, doubles, files that cannot
// be read, and films of another view with what their file says.
func TestFoundTellsEveryFile(t *testing.T) {
	b := newBench(t)
	b.patients()
	b.views("RLO")
	first := b.folder("T1-R", "2004-03-01", "2006-03-01")
	all := append(slices.Clone(first), b.folder("T2-L", "2005-05-01", "2007-05-01", "broken")...)
	all = append(all, b.folder("RLO", "2008-03-01")...)
	all = append(all, b.folder("T1-R", "2004-03-01")...) // the picture of the first
	b.strip.Add(all)
	b.drain()
	f := b.intake.Found()
	require.True(t, f.Unclear())
	require.Equal(t, len(all), f.Files)
	require.Equal(t, []string{"2004-03-01.dcm"}, f.Doubles)
	require.Equal(t, []Fault{{"broken.dcm", all[4], study.Note{Text: "malformed: no film"}}}, f.Faults)
	want := []Sort{
		{Kind: Kind{Patient: "T1", Side: study.Right}, Films: 2, Span: study.Span{First: onDay(2004, 3, 1), Last: onDay(2006, 3, 1)}},
		{Kind: Kind{Patient: "T2", Side: study.Left}, Films: 2, Span: study.Span{First: onDay(2005, 5, 1), Last: onDay(2007, 5, 1)}, Waits: study.NotSorted},
		{Kind: Kind{Patient: "T1", Side: study.Right}, Films: 1, Span: study.Span{First: onDay(2008, 3, 1), Last: onDay(2008, 3, 1)}, Waits: study.NotAP, Reason: study.Note{Code: "waits.view", Values: study.Values{"Code": "", "View": study.Note{Code: "view.stated",
			Values: study.Values{"Element": "View Position (0018,5101)", "Said": "RLO", "View": study.Note{Code: "view.oblique", Values: study.Values{}}}}}}},
	}
	require.Equal(t, want, f.Sorts)
	require.Len(t, b.strip.Films(), 2, "the broken one is none")

	require.NoError(t, b.SetHip(hip()))
	b.drain()
	b.strip.Add(b.folder("T1-R", "2010-03-01"))
	b.drain()
	require.False(t, b.intake.Found().Unclear(), "one film of the hip that is read")
	require.Equal(t, 1, b.intake.Found().Files)
}

// A picture that is no radiograph is counted apart, and is no fault.
func TestPictureIsLeftOut(t *testing.T) {
	b := newBench(t)
	open := b.cfg.Open
	b.cfg.Open = func(path string) (*filmFile, error) {
		if filepath.Base(path) == "trend.png" {
			return nil, &dicomio.FileError{Path: path, Err: dicomio.ErrNoFilm}
		}
		return open(path)
	}
	dir := t.TempDir()
	touch(t, dir, "2004-03-01.dcm")
	touch(t, dir, "trend.png")
	b.strip.Add([]string{dir})
	b.drain()
	require.Len(t, b.strip.Films(), 1)
	require.Equal(t, "1 picture is no radiograph and was left out: trend.png.", b.Notice())
	f := b.intake.Found()
	require.Equal(t, []string{"trend.png"}, f.Pictures)
	require.Equal(t, 1, f.Files)
	require.Empty(t, f.Faults)
	require.False(t, f.Unclear())
}

// A film of another view comes in by a reader's word, and not before.
func TestOtherViewIsTakenByAReader(t *testing.T) {
	b := opened(t)
	b.views("LLO")
	b.strip.Add(b.folder("LLO", "2011-03-01"))
	b.drain()
	require.Len(t, b.strip.Films(), 5)
	piles := b.intake.Piles()
	require.Len(t, piles, 1)
	require.Equal(t, study.NotAP, piles[0].Waits)
	b.intake.Take(piles[0])
	b.drain()
	require.Len(t, b.strip.Films(), 6)
	require.Empty(t, b.intake.Piles())
	require.Equal(t, Proposed, b.strip.Films()[5].State())
}

// What was opened is in the study before anything is accepted: what the program proposes,
// where it found nothing, what waits and what cannot be read.
func TestOpenedFilmsLiveInTheStudy(t *testing.T) {
	b := newBench(t)
	b.patients()
	b.refuse["2006-03-01.dcm"] = "no cup"
	dir := b.folder("T1-R", "2004-03-01", "2006-03-01")
	broken := touch(t, filepath.Dir(dir[0]), "broken.dcm")
	path := filepath.Join(t.TempDir(), "s"+study.FileExt)
	require.NoError(t, b.SetReader("R1"))
	b.strip.Add(dir)
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	require.NoError(t, b.book.create(path))
	b.strip.Add(append(b.folder("T2-L", "2005-05-01"), broken))
	b.drain()
	b.waitSaved()
	require.NoError(t, b.Close())

	st := memoryFiles[path]
	list := everyHip(t, st, func(id string) ([]study.Draft, error) { return st.Drafts(t.Context(), id) })
	require.Len(t, list, 1)
	require.Equal(t, study.Proposed, list[0].Kind)
	require.Less(t, len(list[0].Outlines), 3000, "without edge points")
	links := everyHip(t, st, func(id string) ([]study.Link, error) { return st.Links(t.Context(), id) })
	require.Len(t, links, 2)
	require.Equal(t, study.Measured, links[0].Searched)
	require.Equal(t, study.Refused, links[1].Searched)
	require.NotEmpty(t, links[1].Reason)
	var waits []study.Waits
	unsorted, err := st.Unsorted(t.Context())
	require.NoError(t, err)
	for _, f := range unsorted {
		waits = append(waits, f.Waits)
	}
	require.ElementsMatch(t, []study.Waits{study.NotSorted, study.Unreadable}, waits)
}

// That a file could not be read is noted once, and forgotten when it can be.
func TestUnreadableIsNotedOnce(t *testing.T) {
	b := opened(t)
	require.NoError(t, b.SetReader("R1"))
	path := filepath.Join(t.TempDir(), "s"+study.FileExt)
	require.NoError(t, b.book.create(path))
	st := memoryFiles[path]
	bad := study.Film{Path: "bad.dcm", Waits: study.Unreadable, Reason: study.Note{Text: "no film"}}
	unreadable := func() int {
		list, err := st.Unsorted(t.Context())
		require.NoError(t, err)
		return len(list)
	}
	for range 2 {
		require.NoError(t, keepFaults(t.Context(), st, nil, []study.Film{bad}, b.stamp()))
		require.Equal(t, 1, unreadable())
	}
	require.NoError(t, keepFaults(t.Context(), st, []study.Film{{Path: "bad.dcm"}}, nil, b.stamp()))
	require.Equal(t, 0, unreadable())
}

// What was proposed of a film is no longer a proposal once a reader has accepted it.
func TestAcceptedFilmHasNoProposal(t *testing.T) {
	b := opened(t)
	path := filepath.Join(t.TempDir(), "s"+study.FileExt)
	require.NoError(t, b.SetReader("R1"))
	require.NoError(t, b.book.create(path))
	for _, f := range b.strip.Films() {
		b.drafts.searched(f)
	}
	require.NoError(t, b.drafts.Flush())
	proposals := func() int {
		return len(everyHip(t, memoryFiles[path], func(id string) ([]study.Draft, error) { return memoryFiles[path].Drafts(t.Context(), id) }))
	}
	require.Equal(t, 5, proposals())
	require.NoError(t, b.Accept())
	require.Equal(t, 4, proposals())
}

// What is no film is told with what was opened, and results of this program are passed over
// by kind. Films without a code wait, where the others say whose they are.
func TestMixedFolderIsToldWhole(t *testing.T) {
	b := newBench(t)
	b.patients()
	result := b.folder("R", "2001-01-01")
	of := dicomio.Item{}
	of.SetText(0x00080016, "UI", "1.2.840.10008.5.1.4.1.1.7")
	of.SetText(0x00080018, "UI", "1.2.3")
	of.SetText(0x00080070, "LO", "Linerwatch")
	of.SetNumbers(0x00280010, "US", 500)
	of.SetNumbers(0x00280011, "US", 500)
	of.SetText(0x00290010, "LO", "so that it does not end before")
	var file bytes.Buffer
	require.NoError(t, of.Write(&file))
	require.NoError(t, os.WriteFile(result[0], file.Bytes(), 0o600))
	b.strip.Add(append(append(b.folder("T1-R", "2004-03-01", "2006-03-01"), b.folder("0", "2009-01-01")...), result...))
	b.drain()
	require.Len(t, b.strip.Films(), 2)
	f := b.intake.Found()
	require.Equal(t, "1 result of this program", study.PassedWords(f.Passed))
	require.Len(t, f.Sorts, 2)
	require.Equal(t, Sort{Kind: Kind{}, Films: 1, Waits: study.NotSorted, Span: study.Span{First: onDay(2009, 1, 1), Last: onDay(2009, 1, 1)}}, f.Sorts[1])
}
