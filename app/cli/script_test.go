package cli_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/cli"
	"linerwatch/app/store"
	"linerwatch/assets/texts"
)

// A script in testdata is read line by line:
//
//	# a remark
//	$ measure --head-mm 28 a.dcm    run the command; it must exit with 0
//	$? 2 measure                    run it; it must exit with 2
//	out TEXT, err TEXT              stdout, stderr has TEXT; no-out, no-err: is empty
//	json [0].head.x_px ~ 500 5      the value at a path is 500 ± 5
//	json [0].head = null            the value at a path as JSON
//	csv 1 rate = 0.2                the cell of a row (1 is the first) and column
//	film a.dcm SIDE DATE K=V...     write a phantom film
//	window WORD...                  what the window was opened with
//	grey A.png B.dcm                the picture holds B's stored values
//	exists PATH, absent PATH        there is such a file, is nothing of that name
//	count N DIR                     a folder has so many files
//	archives USER PASSWORD          start archives; $WEB, $DIMSE are their addresses
//	hip FILE CODE SIDE              a hip in a study
//	down, up                        the archives are gone, are there again
//	study FILE                      a study of two hips (makeStudy)
//	env K=V, stdin TEXT, ring        for the commands that follow; an empty keyring
//
// Below "-- NAME --" stands the content of a file.
type script struct {
	t        *testing.T
	out, err bytes.Buffer
	opened   string
	display  bool
	home     string // where the tests are
	stdin    string
	env      map[string]string
	served   *served // archives
}

func TestScripts(t *testing.T) {
	files, err := filepath.Glob("testdata/*.txt")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	home, err := os.Getwd()
	require.NoError(t, err)
	for _, f := range files {
		text, err := os.ReadFile(f)
		require.NoError(t, err)
		t.Run(strings.TrimSuffix(filepath.Base(f), ".txt"), func(t *testing.T) {
			t.Chdir(t.TempDir())
			t.Cleanup(func() { texts.Use(texts.English) })
			s := &script{t: t, display: true, home: home}
			s.run(string(text))
		})
	}
}

var fileMark = regexp.MustCompile(`(?m)^-- (\S+) --\n`)

func (s *script) run(text string) {
	text = strings.ReplaceAll(text, "\r\n", "\n")
	marks := fileMark.FindAllStringSubmatchIndex(text, -1)
	end := len(text)
	for i := len(marks) - 1; i >= 0; i-- {
		m := marks[i]
		require.NoError(s.t, os.WriteFile(text[m[2]:m[3]], []byte(strings.ReplaceAll(text[m[1]:end], `\ufeff`, "\ufeff")), 0o644))
		end = m[0]
	}
	for i, line := range strings.Split(text[:end], "\n") {
		word, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		if word != "" && word != "#" {
			s.line(fmt.Sprintf("line %d: %s", i+1, line), word, strings.TrimSpace(rest))
		}
		if s.t.Failed() {
			s.t.Logf("stdout:\n%s\nstderr:\n%s", s.out.String(), s.err.String())
			return
		}
	}
}

func (s *script) line(at, word, rest string) {
	t := s.t
	f := strings.Fields(rest)
	switch word {
	case "$":
		s.command(at, 0, f)
	case "$?":
		code, err := strconv.Atoi(f[0])
		require.NoError(t, err, at)
		s.command(at, code, f[1:])
	case "out":
		require.Contains(t, s.out.String(), rest, at)
	case "err":
		require.Contains(t, s.err.String(), rest, at)
	case "no-out":
		require.Empty(t, s.out.String(), at)
	case "no-err":
		require.Empty(t, s.err.String(), at)
	case "json":
		s.value(at, s.jsonAt(at, f[0]), f[1:])
	case "csv":
		s.value(at, s.csvAt(at, f[0], f[1]), f[2:])
	case "film":
		require.NoError(t, writeFilm(f[0], f[1], f[2], f[3:]), at)
	case "window":
		require.Equal(t, rest, s.opened, at)
	case "no-display":
		s.display = false
	case "mkdir":
		require.NoError(t, os.MkdirAll(rest, 0o755), at)
	case "grey":
		s.sameGrey(at, f[0], f[1])
	case "exists":
		require.FileExists(t, rest, at)
	case "absent":
		require.NoFileExists(t, rest, at)
		require.NoDirExists(t, rest, at)
	default:
		if !s.pictures(at, word, f) && !s.imports(at, word, f) && !s.deidentified(at, word, f) && !s.results(at, word, f) && !s.archives(at, word, f) {
			t.Fatalf("%s: no such word", at)
		}
	}
}

func (s *script) command(at string, code int, args []string) {
	s.out.Reset()
	s.err.Reset()
	env := cli.Env{Stdout: &s.out, Stderr: &s.err, Version: "test", Now: func() time.Time { return day("2040-01-01") },
		Studies: store.Files(), NoWindow: "there is no display", Archives: "set/archives.json", Stdin: strings.NewReader(s.stdin),
		Getenv: func(name string) string { return s.env[name] }}
	args = s.addressed(args)
	if s.display {
		env.OpenWindow = func(paths []string, file string) error {
			s.opened = strings.TrimSpace(strings.Join(paths, " ") + " " + filepath.Base(file))
			return nil
		}
		env.ReadList = func(file, list, reader string) error {
			s.opened = strings.Join([]string{filepath.Base(file), list, reader}, " ")
			return nil
		}
	}
	got := cli.Run(s.t.Context(), args, env)
	require.Equal(s.t, code, got, "%s: exit code; stderr: %s", at, &s.err)
	for _, l := range strings.Split(strings.TrimSuffix(s.err.String(), "\n"), "\n") {
		require.True(s.t, l == "" || strings.HasPrefix(l, "linerwatch: "), "%s: %q begins with the program's name", at, l)
	}
}

// value compares "= JSON" or "~ NUMBER TOLERANCE".
func (s *script) value(at string, got any, want []string) {
	switch want[0] {
	case "=":
		b, err := json.Marshal(got)
		require.NoError(s.t, err, at)
		require.Equal(s.t, strings.Join(want[1:], " "), string(b), at)
	case "~":
		var v, tol float64
		_, err := fmt.Sscan(strings.Join(want[1:], " "), &v, &tol)
		require.NoError(s.t, err, at)
		require.InDelta(s.t, v, got, tol, at)
	default:
		s.t.Fatalf("%s: compare with = or ~", at)
	}
}

var step = regexp.MustCompile(`\[(\d+)\]|([^.\[\]]+)`)

// jsonAt follows a path like [0].head.x_px.
func (s *script) jsonAt(at, path string) any {
	var v any
	require.NoError(s.t, json.Unmarshal(s.out.Bytes(), &v), at)
	for _, m := range step.FindAllStringSubmatch(path, -1) {
		if m[1] != "" {
			i, err := strconv.Atoi(m[1])
			require.NoError(s.t, err, at)
			list, ok := v.([]any)
			require.True(s.t, ok && i < len(list), "%s: no element %d", at, i)
			v = list[i]
			continue
		}
		object, ok := v.(map[string]any)
		require.True(s.t, ok, "%s: %s is in no object", at, m[2])
		require.Contains(s.t, object, m[2], at)
		v = object[m[2]]
	}
	return v
}

func (s *script) csvAt(at, row, column string) any {
	rows, err := csv.NewReader(bytes.NewReader(s.out.Bytes())).ReadAll()
	require.NoError(s.t, err, at)
	i, err := strconv.Atoi(row)
	require.NoError(s.t, err, at)
	require.Less(s.t, i, len(rows), at)
	for j, name := range rows[0] {
		if name == column {
			if v, err := strconv.ParseFloat(rows[i][j], 64); err == nil && !math.IsNaN(v) {
				return v
			}
			return rows[i][j]
		}
	}
	s.t.Fatalf("%s: no column %s", at, column)
	return nil
}

// sameGrey compares a 16-bit PNG with the pixels at the end of an uncompressed
// little endian film, which are found here without the program's own reader.
func (s *script) sameGrey(at, picture, film string) {
	f, err := os.Open(picture)
	require.NoError(s.t, err, at)
	img, err := png.Decode(f)
	require.NoError(s.t, err, at)
	require.NoError(s.t, f.Close(), at)
	g, ok := img.(*image.Gray16)
	require.True(s.t, ok, "%s: the picture is 16-bit grey", at)
	raw, err := os.ReadFile(film)
	require.NoError(s.t, err, at)
	n := g.Rect.Dx() * g.Rect.Dy()
	raw = raw[len(raw)-2*n:]
	for i := range n {
		x, y := i%g.Rect.Dx(), i/g.Rect.Dx()
		want := uint16(raw[2*i]) | uint16(raw[2*i+1])<<8
		require.Equal(s.t, want, g.Gray16At(x, y).Y, "%s: pixel %d, %d", at, x, y)
	}
}

func day(s string) time.Time {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return t
}
