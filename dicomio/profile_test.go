package dicomio

import (
	"encoding/binary"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/suyashkumar/dicom/pkg/tag"
)

// profileRow is a row of PS3.15 table E.1-1: an attribute, what the Basic Profile wants
// with it (X gone, Z empty or a dummy, D a dummy, U another UID; with / either, by the
// film's class), and K or C where an option keeps it or keeps it cleaned.
type profileRow struct {
	tag                                 uint32
	basic, characteristics, dates, name string
}

// profile is the table of the edition that the data names. Where it has groups, it
// gives two of them.
func profile(t *testing.T) (rows []profileRow) {
	b, err := os.ReadFile("testdata/ps315-e1-1.tsv")
	require.NoError(t, err)
	for line := range strings.Lines(string(b)) {
		f := strings.Split(strings.TrimRight(line, "\n"), "\t")
		if line[0] == '#' {
			continue
		}
		require.Len(t, f, 5, line)
		tags := []string{f[0]}
		switch {
		case f[0] == "odd":
			tags = []string{"00091001", "7FE11010"}
		case strings.Contains(f[0], "x"):
			first := strings.Replace(f[0], "xx", "00", 1)
			last := strings.Replace(f[0], "xx", "1E", 1)
			tags = []string{strings.ReplaceAll(first, "xxxx", "3000"), strings.ReplaceAll(last, "xxxx", "0022")}
		}
		for _, s := range tags {
			n, err := strconv.ParseUint(s, 16, 32)
			require.NoError(t, err)
			rows = append(rows, profileRow{uint32(n), f[1], f[2], f[3], f[4]})
		}
	}
	return rows
}

// marked is an element with a value that is found again, as its type allows it.
func marked(t uint32, n int) (e el, mark string) {
	vr := "LO"
	if info, err := tag.Find(tag.Tag{Group: uint16(t >> 16), Element: uint16(t)}); err == nil && t>>16&1 == 0 && len(info.VRs) > 0 {
		vr = info.VRs[0]
	}
	mark = fmt.Sprintf("MARK%04dQ", n)
	switch vr {
	case "UI":
		mark = fmt.Sprintf("1.2.826.99.%d.1", 10000+n)
	case "DA":
		mark = fmt.Sprintf("%04d0229", 1604+4*(n%90))
	case "DT":
		mark = fmt.Sprintf("%04d0229101112", 1604+4*(n%90))
	case "TM":
		mark = fmt.Sprintf("1011%02d.%06d", n%60, n)
	case "DS", "IS":
		mark = fmt.Sprintf("7%09d", n)
	case "AS":
		mark = fmt.Sprintf("%03dY", n)
	case "SQ":
		return item(t, text(0x00080104, "LO", mark), text(0x00100010, "PN", mark)), mark
	case "US", "SS", "UL", "SL", "FL", "FD", "AT", "OW", "OB", "OF", "OL", "OD", "UN", "OV", "UV", "SV":
		mark = fmt.Sprintf("MK%06d", n) // 8 bytes are whole numbers of each of these
	}
	return text(t, vr, mark), mark
}

// Every attribute of the table is put into a film, and what becomes of it is what the
// table wants, with and without the option that it says more of.
func TestDeidentifyByTheTable(t *testing.T) {
	rows := profile(t)
	require.Len(t, rows, 456+4*2)
	for i, row := range rows {
		for _, characteristics := range []bool{false, true} {
			e, mark := marked(row.tag, i)
			d, err := NewDeidentifier(secret)
			require.NoError(t, err)
			d.KeepCharacteristics = characteristics
			b := plainFilm(digitalXRay, e)
			require.Contains(t, string(b), mark)
			out, _, err := d.film(b)
			require.NoError(t, err, "%08X %s", row.tag, row.name)
			left, there := elementIn(t, out, row.tag)
			if !assert.NoError(t, row.obeyed(left, there, mark, string(out)), "%08X %s (%s)", row.tag, row.name, row.basic) {
				t.Logf("%q became %q", e.value, left)
			}
		}
	}
}

// obeyed says what is wrong with what is left of an attribute.
func (r profileRow) obeyed(left string, there bool, mark, out string) error {
	if r.characteristics == "K" && there && left == mark {
		return nil
	}
	switch {
	case strings.Contains(out, mark):
		return fmt.Errorf("%s is left", mark)
	case !there || left == "" && strings.ContainsAny(r.basic, "ZD"):
		return nil
	case r.dates == "C" && len(left) == 8: // moved
		return nil
	case strings.ContainsAny(r.basic, "ZDU"):
		return nil // another value
	}
	return fmt.Errorf("there is %q", left)
}

// elementIn is the value of an element of the meta information or the data set.
func elementIn(t *testing.T, b []byte, want uint32) (value string, there bool) {
	w := &walker{b: b, size: len(b), order: binary.LittleEndian}
	_, _, err := w.each(preamble+4, func(e head, next int) error {
		if e.tag == want {
			value, there = strings.TrimRight(string(b[e.value:next]), " \x00"), true
		}
		return nil
	})
	require.NoError(t, err)
	return value, there
}

// What is kept of the table's attributes is kept by an option alone.
func TestWhatIsKeptIsAllowed(t *testing.T) {
	for _, row := range profile(t) {
		r, ok := kept[row.tag]
		if !ok {
			continue
		}
		switch {
		case r.do == mapUID:
			assert.Equal(t, "U", row.basic, row.name)
		case r.do == moveDate:
			assert.Equal(t, "C", row.dates, row.name)
		case r.trait:
			assert.Equal(t, "K", row.characteristics, row.name)
		default:
			t.Errorf("%s is kept", row.name)
		}
	}
}
