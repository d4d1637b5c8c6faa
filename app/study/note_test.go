package study

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/wearfit"
	lmm "linerwatch/wearfit/mixed"
	"linerwatch/wearfit/settle"
	"linerwatch/wearfit/survive"
)

func TestNoteWords(t *testing.T) {
	for _, c := range []struct {
		name string
		note Note
		want string
	}{
		{"nothing", Note{}, ""},
		{"values", Note{Code: "rim.turn", Values: Values{"Degrees": 3.49}}, "the shell's rim is not seen: its direction is uncertain by 3.5 deg"},
		{"a note in a note", Note{Code: "trend.refused", Values: Values{"Film": "a.dcm", "Why": Note{Code: "refusal.flat"}}}, "a.dcm was not measured: the film is flat"},
		{"a sentence of before", Note{Text: "as it was said"}, "as it was said"},
		{"no such code", Note{Code: "no.such"}, "no.such"},
		{"two", listed([]Note{{Code: "fault.side"}, {Code: "fault.no-head"}}), "the side is missing: right or left hip; the head diameter is missing: it is in the operation note, in mm"},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, c.want, NoteWords(c.note))
		})
	}
}

// An error that is told by a note says it in words wherever it stands in another.
func TestTold(t *testing.T) {
	flat := &measure.Refusal{Reason: Note{Code: "refusal.flat"}}
	few := &wearfit.TooFewError{N: 1, Need: 2}
	for _, c := range []struct {
		name string
		err  error
		want string
	}{
		{"a refusal", flat, "the film is flat"},
		{"a fit", few, "too few films: 1, need 2"},
		{"an error without a note", errors.New("the disk is full"), "the disk is full"},
		{"within another", fmt.Errorf("trend: a.dcm: %w (twice)", flat), "trend: a.dcm: the film is flat (twice)"},
		{"two within another", fmt.Errorf("fit: %w; %w", flat, few), "fit: the film is flat; too few films: 1, need 2"},
		{"joined", errors.Join(flat, fmt.Errorf("b: %w", few)), "the film is flat\nb: too few films: 1, need 2"},
		{"the same twice", errors.Join(ErrNoRim, ErrNoRim), strings.Repeat("\nthe cup's rim is not outlined: no wire ring, no rim found or drawn", 2)[1:]},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, c.want, Told(c.err))
		})
	}
	require.Equal(t, flat.Reason, NoteOf(flat))
	require.Equal(t, Note{Text: "the disk is full"}, NoteOf(errors.New("the disk is full")))
	require.True(t, NoteOf(nil).IsZero())
}

// Whatever package wearfit refuses is told by a note.
func TestEveryErrorOfAFitHasItsNote(t *testing.T) {
	known := map[string]bool{}
	for err := range fitErrors {
		n, ok := says(err)
		require.True(t, ok)
		require.NotEqual(t, n.Code, NoteWords(n), err)
		known[err.Error()] = true
	}
	types := map[string]error{}
	for _, err := range []error{&wearfit.TooFewError{}, &wearfit.TooFewTimesError{}, &wearfit.NonFiniteError{What: "time"}, &wearfit.WeightError{}, &wearfit.LengthError{}, &lmm.NestError{}, &lmm.ManyError{}, &lmm.BaseError{}, &lmm.SEError{},
		&survive.TimeError{}, &survive.EventError{},
		&settle.ChangeError{Hip: "A", First: 1, Second: 2.5}, &settle.ReadingError{Value: -0.5}} {
		types[reflect.TypeOf(err).Elem().Name()] = err
		_, words, _ := strings.Cut(err.Error(), ": ")
		require.Equal(t, words, Told(err))
	}
	types["ColumnError"] = &survive.ColumnError{Err: survive.ErrAlike}
	require.Equal(t, "column 1: all values are the same", Told(types["ColumnError"]))
	var files []string
	for _, folder := range []string{"", "mixed/", "settle/", "survive/"} {
		in, err := filepath.Glob("../../wearfit/" + folder + "*.go")
		require.NoError(t, err)
		require.NotEmpty(t, in)
		files = append(files, in...)
	}
	found := 0
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		require.NoError(t, err)
		for _, d := range f.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok {
				continue
			}
			for _, spec := range g.Specs {
				switch s := spec.(type) {
				case *ast.ValueSpec:
					if strings.HasPrefix(s.Names[0].Name, "Err") {
						found++
					}
				case *ast.TypeSpec:
					if strings.HasSuffix(s.Name.Name, "Error") && s.Name.IsExported() {
						require.Contains(t, types, s.Name.Name)
					}
				}
			}
		}
	}
	require.Len(t, known, found)
}

// A count is a number of the text's, and a note among the values is said in words.
func TestSentenceTakesCountsAndNotes(t *testing.T) {
	require.Equal(t, "film 3", Sentence("strip.label", "N", 3))
	require.Equal(t, "nothing to accept: the film has no date", Sentence("accept.nothing", "Why", Note{Code: "film.undated"}))
	require.Equal(t, "strip.label", Sentence("strip.label"), "what lacks its value shows its key")
}
