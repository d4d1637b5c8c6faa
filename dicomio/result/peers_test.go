package result

import (
	"encoding/binary"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/dicomio"
)

// tool runs a program of another project and returns what it says. The test is skipped
// where it is not installed.
func tool(t *testing.T, name string, args ...string) (said string, err error) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Skipf("%s is not installed: nothing is checked against it", name)
	}
	out, err := exec.Command(name, args...).CombinedOutput()
	return string(out), err
}

// set is a film with its three results in files.
type set struct {
	film, report, capture, state, rejection string
	reported, captured, shown, rejected     dicomio.Item
}

// resultsOf makes all results of a film that says whom it is of.
func resultsOf(t *testing.T, f *dicomio.Film) set {
	t.Helper()
	path, _ := written(t, f)
	said, err := tool(t, "dcmodify", "-nb", "-i", "(0010,0010)=Invented^Name", "-i", "(0010,0030)=19400102", "-i", "(0008,0030)=101500",
		"-i", "(0020,0010)=S1", "-i", "(0010,1010)=072Y", path)
	require.NoError(t, err, said)
	return resultsOfFile(t, path)
}

func resultsOfFile(t *testing.T, path string) set {
	t.Helper()
	opened, err := dicomio.Open(path)
	require.NoError(t, err)
	header, err := dicomio.ReadItem(path)
	require.NoError(t, err)
	is, err := FilmOf(header, 1)
	require.NoError(t, err)
	r := report(t, is)
	var s set
	s.film = path
	save := func(name string, i dicomio.Item, err error) (string, dicomio.Item) {
		require.NoError(t, err)
		p := filepath.Join(filepath.Dir(path), name)
		return p, encoded(t, i, p)
	}
	item, err := r.Item()
	s.report, s.reported = save("report.dcm", item, err)
	item, err = Capture{Film: is, Hip: "H2", Side: "right", Picture: picture(), About: "film with outlines", Of: r.UID(), BurnsIn: "NO", Source: r.Source}.Item()
	s.capture, s.captured = save("capture.dcm", item, err)
	marks := []Mark{}
	for _, g := range r.Groups[:3] {
		marks = append(marks, Mark{g.Outline.At(opened.Place()), g.Name})
	}
	item, err = State{Film: is, Hip: "H2", Side: "right", About: "outlines of head and cup", Of: r.UID(),
		Rows: opened.Rows, Columns: opened.Columns, Aspect: opened.Geometry.Aspect(), Place: opened.Place(), Greys: GreysOf(opened), Marks: marks, Source: r.Source}.Item()
	s.state, s.shown = save("state.dcm", item, err)
	item, err = Rejection{Film: is, Hip: "H2", Why: "taken back", Of: []Instance{InstanceOf(s.captured), InstanceOf(s.shown), InstanceOf(s.reported)}, Source: r.Source}.Item()
	s.rejection, s.rejected = save("rejection.dcm", item, err)
	return s
}

// films are those of which results are checked.
func films() map[string]*dicomio.Film {
	oblong, lying, upset, inverse := film(), film(), film(), film()
	oblong.Geometry.Imager = [2]float64{0.15, 0.2}
	lying.Orientation, upset.Orientation = [2]string{"F", "R"}, [2]string{"R", "H"}
	inverse.Photometric, inverse.Signed = "MONOCHROME1", true
	return map[string]*dicomio.Film{"plain": film(), "oblong": oblong, "lying": lying, "upset": upset, "inverse": inverse}
}

// dciodvfy finds no error in any of them, dcentvfy none in film and results together.
func TestResultsAreInOrder(t *testing.T) {
	for name, f := range films() {
		s := resultsOf(t, f)
		for _, path := range []string{s.report, s.capture, s.state, s.rejection} {
			said, err := tool(t, "dciodvfy", path)
			assert.NoError(t, err, said)
			assert.NotContains(t, said, "Error", "%s: %s", name, filepath.Base(path))
			t.Logf("%s: %s:\n%s", name, filepath.Base(path), said)
		}
		said, err := tool(t, "dcentvfy", s.film, s.report, s.capture, s.state, s.rejection)
		assert.NoError(t, err, said)
		assert.NotContains(t, said, "Error", name)
		t.Logf("%s: together:\n%s", name, said)
	}
}

// The validators do find what is wrong.
func TestValidatorsCanFail(t *testing.T) {
	s := resultsOf(t, film())
	for _, c := range []struct {
		i   dicomio.Item
		tag uint32
	}{{s.reported, 0x0040A491}, {s.captured, 0x00280010}, {s.shown, 0x0070005A}, {s.rejected, 0x0040A375}} {
		delete(c.i, c.tag)
		path := filepath.Join(t.TempDir(), "less.dcm")
		encoded(t, c.i, path)
		said, _ := tool(t, "dciodvfy", path)
		assert.Contains(t, said, "Error", "%08x", c.tag)
	}
}

// dsrdump of dcmtk reads the whole tree and complains of nothing but that it does not
// check texts in UTF-8. (Of its own accord it takes no time zone of +0000.)
func TestReportIsDumped(t *testing.T) {
	for name, f := range films() {
		s := resultsOf(t, f)
		said, err := tool(t, "dsrdump", "+Pl", "+Pc", s.report)
		require.NoError(t, err, said)
		said = strings.Replace(said, "W: The VR checker does not support this Specific Character Set: ISO_IR 192\n", "", 1)
		assert.NotContains(t, said, "W: ", name)
		assert.NotContains(t, said, "E: ", name)
		for _, want := range []string{"Imaging Measurement Report", "CIRCLE", "ELLIPSE", `"0.31415926535898" (mm,UCUM`, "range of measurement uncertainty", "H2 head", "Predecessor"} {
			assert.Contains(t, said, want, name)
		}
		said, err = tool(t, "dsrdump", "+Pl", s.rejection)
		require.NoError(t, err, said)
		assert.Contains(t, said, "Rejected for Quality Reasons", name)
		assert.Equal(t, 3, strings.Count(said, "contains IMAGE")+strings.Count(said, "contains COMPOSITE"), said)
	}
}

// dcmpschk of dcmtk finds no error in the presentation state.
func TestStateIsChecked(t *testing.T) {
	for name, f := range films() {
		s := resultsOf(t, f)
		said, err := tool(t, "dcmpschk", s.state)
		assert.NoError(t, err, said)
		assert.NotContains(t, strings.ToLower(said), "error", name)
		t.Logf("%s:\n%s", name, said)
	}
}

// dcmp2pgm of dcmtk, which applies a presentation state to its film, shows the film
// upright and in the greys of the program.
func TestStateShowsTheFilmUpright(t *testing.T) {
	for name, f := range films() {
		t.Run(name, func(t *testing.T) { showsUpright(t, resultsOf(t, f)) })
	}
}

func showsUpright(t *testing.T, s set) {
	t.Helper()
	out := filepath.Join(t.TempDir(), "shown.pgm")
	said, err := tool(t, "dcmp2pgm", "-p", s.state, s.film, out)
	require.NoError(t, err, said)
	got, err := os.ReadFile(out)
	require.NoError(t, err)
	opened, err := dicomio.Open(s.film)
	require.NoError(t, err)
	want := opened.Upright().Display(nil)
	head := fmt.Sprintf("P5\n%d %d 255\n", want.Rect.Dx(), want.Rect.Dy())
	require.Equal(t, head, string(got[:len(head)]))
	for i, v := range got[len(head):] {
		require.InDelta(t, want.Pix[i], v, 1, "pixel %d", i)
	}
}

// So it does where the file has tables in place of windows, or values to be rescaled.
func TestStateHasTheFilmsTables(t *testing.T) {
	table := dicomio.Item{}
	table.SetNumbers(0x00283002, "US", 1024, 0, 12) // entries, first value, bits
	entries := make([]byte, 2*1024)
	for i := range 1024 {
		binary.LittleEndian.PutUint16(entries[2*i:], uint16(i*i>>8))
	}
	table[0x00283006] = dicomio.Value{VR: "OW", Bytes: entries}
	wide := dicomio.Item{} // of 16 bits: of fewer dciodvfy finds that they do not fill a state's
	wide.SetNumbers(0x00283002, "US", 1024, 0, 16)
	wide.SetText(0x00283004, "LO", "US")
	entries = make([]byte, 2*1024)
	for i := range 1024 {
		binary.LittleEndian.PutUint16(entries[2*i:], uint16(i*i>>4))
	}
	wide[0x00283006] = dicomio.Value{VR: "OW", Bytes: entries}
	for name, change := range map[string]func(dicomio.Item){
		"values of interest": func(i dicomio.Item) {
			i.SetItems(0x00283010, table)
			for _, tag := range []uint32{0x00281050, 0x00281051, 0x00281055, 0x00281056} {
				delete(i, tag)
			}
		},
		"modality": func(i dicomio.Item) {
			i.SetItems(0x00283000, wide)
			for _, tag := range []uint32{0x00281052, 0x00281053, 0x00281054} {
				delete(i, tag)
			}
			i.SetNumbers(0x00281050, "DS", 24000)
			i.SetNumbers(0x00281051, "DS", 40000)
		},
		"rescaled": func(i dicomio.Item) {
			i.SetNumbers(0x00281052, "DS", -100)
			i.SetNumbers(0x00281053, "DS", 0.25)
			i.SetNumbers(0x00281050, "DS", 300)
			i.SetNumbers(0x00281051, "DS", 500)
		},
	} {
		t.Run(name, func(t *testing.T) {
			path, header := written(t, film())
			raw, err := os.ReadFile(path)
			require.NoError(t, err)
			header[0x7FE00010] = dicomio.Value{VR: "OW", Bytes: raw[len(raw)-2*30*40:]}
			header.SetText(0x00100010, "PN", "Invented^Name")
			change(header)
			encoded(t, header, path)
			s := resultsOfFile(t, path)
			said, err := tool(t, "dciodvfy", s.state)
			assert.NoError(t, err, said)
			assert.NotContains(t, said, "Error")
			showsUpright(t, s)
		})
	}
}

// pydicom reads every value, and its dictionary of PS3.16 gives our public codes the
// meanings that they have here.
func TestPydicomKnowsTheCodes(t *testing.T) {
	if said, err := tool(t, "/usr/bin/python3", "-c", "import pydicom"); err != nil {
		t.Skipf("pydicom is not installed: %s", said)
	}
	s := resultsOf(t, film())
	said, err := tool(t, "/usr/bin/python3", "-c", `
import sys, pydicom
from pydicom.sr._concepts_dict import concepts
known = {}
for scheme, names in concepts.items():
    for codes in names.values():
        for value, (meaning, _) in codes.items():
            known.setdefault((scheme, value), set()).add(meaning)
seen = set()
def walk(d):
    for e in d:
        if e.VR == "SQ":
            for i in e.value:
                walk(i)
                if "CodeValue" in i: seen.add((i.CodingSchemeDesignator, i.CodeValue, i.CodeMeaning))
        else:
            str(e.value)
for path in sys.argv[1:]:
    d = pydicom.dcmread(path)
    walk(d)
    if "PixelData" in d: print(len(d.PixelData))
for scheme, value, meaning in sorted(seen):
    if scheme in ("DCM", "SCT"):
        print("same" if meaning in known.get((scheme, value), ()) else "OTHER", scheme, value, meaning, known.get((scheme, value)))
`, s.report, s.capture, s.state, s.rejection)
	require.NoError(t, err, said)
	assert.NotContains(t, said, "OTHER")
	assert.Greater(t, strings.Count(said, "same"), 25)
	assert.Contains(t, said, fmt.Sprintln(46), "the pixels of the capture, padded")
}
