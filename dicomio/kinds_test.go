package dicomio

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// object is a DICOM file of a storage class, modality and body part.
func object(syntax, class, modality, part string, rows, columns uint16) []byte {
	le := binary.LittleEndian
	els := []el{text(0x00080016, "UI", class), text(0x00080060, "CS", modality)}
	if part != "" {
		els = append(els, text(0x00180015, "CS", part))
	}
	els = append(append(els, image16(le, rows, columns, 16, 12, 11, 0, "MONOCHROME2")...), el{0x7FE00010, "OW", make([]byte, 2*int(rows)*int(columns))})
	return dicomFile(syntax, dataSet(le, syntax == implicitLittle, els...))
}

func TestSurvey(t *testing.T) {
	const class = imageStorage
	dir := folder(t, map[string][]byte{
		"ct1":      object(explicitLittle, class+"2", "CT", "PELVIS", 512, 512),
		"ct2":      object(implicitLittle, class+"2.1", "CT", "HIP", 512, 512),
		"ct3":      object(explicitLittle, class+"7", "CT", "", 512, 512),
		"mr":       object(explicitLittle, class+"4", "MR", "HIP", 512, 512),
		"chest":    object(explicitLittle, class+"1.1", "DX", "CHEST", 2000, 1800),
		"mammo":    object(explicitLittle, class+"1.2", "MG", "BREAST", 2000, 1800),
		"small":    object(explicitLittle, class+"7", "DX", "HIP", 99, 1800),
		"cr":       object(implicitLittle, class+"1", "CR", "HIP", 90, 80),
		"dx":       object(explicitLittle, class+"1.1.1", "DX", "", 200, 180),
		"capture":  object(explicitLittle, class+"7", "OT", "PELVIS", 200, 180),
		"screened": object(explicitLittle, class+"12.2", "RF", "LEG", 200, 180),
		"unknown":  object(explicitLittle, "1.2.3", "", "", 200, 180),
		"cut":      object(explicitLittle, class+"2", "CT", "PELVIS", 200, 180)[:190],
		"a.pdf":    []byte("%PDF-1.4"),
	})
	films, passed, err := Survey(dir)
	require.NoError(t, err)
	for i := range films {
		films[i] = filepath.Base(films[i])
	}
	assert.Equal(t, []string{"capture", "cr", "cut", "dx", "screened", "unknown"}, films)
	assert.Equal(t, []string{
		"1 MR slices", "1 mammograms", "1 pictures of fewer than 100 rows or columns",
		"1 radiographs of another part of the body (CHEST)", "3 CT slices",
	}, said(passed))

	dir = folder(t, map[string][]byte{"ct": object(explicitLittle, class+"2", "CT", "", 512, 512)})
	_, _, err = Survey(dir)
	assert.EqualError(t, err, "dicomio: "+dir+": no films in this folder, but 1 CT slices")
	got, err := Expand([]string{filepath.Join(dir, "ct")})
	require.NoError(t, err)
	assert.Len(t, got, 1, "what is named is kept")
}

// Every class and every modality that is passed over has words of its own.
func TestKindsHaveWords(t *testing.T) {
	for _, c := range classes {
		assert.Equal(t, c.code, fileKind{code: c.code}.said(1).Code)
	}
	for _, code := range modalities {
		assert.Equal(t, code, fileKind{code: code}.said(1).Code)
	}
}

// A long header is read on, and no more of a file than that.
func TestLookReadsHeadersOnly(t *testing.T) {
	le := binary.LittleEndian
	long := append(dataSet(le, false, text(0x00080016, "UI", imageStorage+"2")), appendElement(nil, 0x00091010, "OB", make([]byte, 20_000))...)
	long = append(long, dataSet(le, false, image16(le, 200, 200, 16, 12, 11, 0, "MONOCHROME2")...)...)
	path := file(t, "long.dcm", append(dicomFile(explicitLittle, long), 0, 0, 0, 0))
	require.NoError(t, os.Truncate(path, 1<<29)) // sparse
	used := allocated(func() {
		k, film := kindOf(path)
		assert.Equal(t, fileKind{code: "passed.ct"}, k)
		assert.True(t, film)
	})
	assert.Less(t, used, uint64(slack))
}

func FuzzLook(f *testing.F) {
	for _, b := range seeds(f) {
		f.Add(b, uint16(len(b)))
	}
	f.Fuzz(func(t *testing.T, b []byte, n uint16) {
		if len(b) < 16 {
			return
		}
		_, _ = look(b[:max(16, min(int(n), len(b)))], len(b))
	})
}

// A chooser shows what is passed over; only the count of a folder leaves it out.
func TestPassedOver(t *testing.T) {
	ct := file(t, "ct", object(explicitLittle, imageStorage+"2", "CT", "HIP", 512, 512))
	assert.True(t, MayBeFilm(ct))
	assert.True(t, PassedOver(ct))
	assert.False(t, PassedOver(file(t, "dx", encoded(t, noise(2, 2, 12)))))
}
