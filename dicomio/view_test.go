package dicomio

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// sq is a sequence of items in explicit little endian.
func sq(tag uint32, items ...[]byte) el {
	var b []byte
	for _, item := range items {
		b = appendItem(b, item)
	}
	return el{tag, "SQ", b}
}

// codeOf is the item of a code, with what else stands in it.
func codeOf(value, scheme, meaning string, more ...el) (b []byte) {
	for _, e := range append([]el{text(0x00080100, "SH", value), text(0x00080102, "SH", scheme), text(0x00080104, "LO", meaning)}, more...) {
		b = appendElement(b, e.tag, e.vr, e.value)
	}
	return b
}

// A film enters as one of a hip from the front where all that its file says agrees on that.
func TestProjection(t *testing.T) {
	const study, series, part, protocol, position, orientation = 0x00081030, 0x0008103E, 0x00180015, 0x00181030, 0x00185101, 0x00200020
	const region, view, modifier = 0x00082218, 0x00540220, 0x00540222
	lo := func(t uint32, s string) el { return text(t, "LO", s) }
	cs := func(t uint32, s string) el { return text(t, "CS", s) }
	code := func(value, meaning string, more ...el) el { return sq(view, codeOf(value, "SCT", meaning, more...)) }
	for name, c := range map[string]struct {
		els []el
		way Way
		why string
	}{
		"nothing":             {nil, "", ""},
		"AP":                  {[]el{cs(position, "AP")}, Frontal, ""},
		"A.P.":                {[]el{cs(position, "A.P.")}, Frontal, ""},
		"PA pelvis":           {[]el{cs(part, "PELVIS"), cs(position, "PA")}, Frontal, ""},
		"lateral":             {[]el{cs(position, "LL")}, Sideways, ""},
		"frog":                {[]el{cs(position, "FROG")}, Axial, `View Position (0018,5101) says "FROG": axial or frog-leg`},
		"axial":               {[]el{cs(position, "AXIAL")}, Axial, `View Position (0018,5101) says "AXIAL": axial or frog-leg`},
		"oblique":             {[]el{cs(position, "RLO")}, Oblique, `View Position (0018,5101) says "RLO": oblique`},
		"decubitus":           {[]el{cs(position, "LLD")}, Decubitus, `View Position (0018,5101) says "LLD": decubitus`},
		"a word not known":    {[]el{cs(position, "SWIMMER")}, OtherWay, `View Position (0018,5101) says "SWIMMER", which is neither AP nor PA`},
		"its word and a code": {[]el{cs(position, "STANDING"), code("399348003", "antero-posterior")}, Frontal, ""},
		"coded lateral":       {[]el{code("399067008", "lateral")}, Sideways, ""},
		"coded AP":            {[]el{sq(view, codeOf("R-10206", "SRT", "antero-posterior"))}, Frontal, ""},
		"coded frog": {[]el{code("399348003", "antero-posterior", sq(modifier, codeOf("F-10380", "SRT", "frog")))}, Axial,
			`View Code Sequence (0054,0220) says "antero-posterior SCT 399348003": axial or frog-leg`},
		"coded by a clinic": {[]el{sq(view, codeOf("X7", "99HOUSE", "Hip frog-leg"))}, Axial, `View Code Sequence (0054,0220) says "Hip frog-leg 99HOUSE X7": axial or frog-leg`},
		"code not known":    {[]el{sq(view, codeOf("X7", "99HOUSE", "Special"))}, OtherWay, `View Code Sequence (0054,0220) says "Special 99HOUSE X7", which is neither AP nor PA`},
		"code against position": {[]el{cs(position, "AP"), code("399067008", "lateral")}, "",
			`View Position (0018,5101) says "AP", View Code Sequence (0054,0220) "lateral SCT 399067008"`},
		"series against position": {[]el{lo(series, "Hip frog lateral"), cs(position, "AP")}, "",
			`View Position (0018,5101) says "AP", Series Description (0008,103E) "Hip frog lateral"`},
		"series alone":           {[]el{lo(series, "HIP Lauenstein re.")}, Axial, `Series Description (0008,103E) says "HIP Lauenstein re.": axial or frog-leg`},
		"series of two views":    {[]el{lo(series, "Hip AP + axial")}, "", ""},
		"bilateral is no view":   {[]el{lo(series, "HIPS BILATERAL")}, "", ""},
		"protocol":               {[]el{lo(protocol, "Pelvis ap")}, Frontal, ""},
		"study where alone":      {[]el{lo(study, "XR HIP LATERAL")}, Sideways, ""},
		"study beside position":  {[]el{lo(study, "XR HIP LATERAL"), cs(position, "AP")}, Frontal, ""},
		"upright plane":          {[]el{cs(orientation, `L\F`)}, Frontal, ""},
		"frog in the same plane": {[]el{cs(position, "FROG"), cs(orientation, `L\F`)}, Axial, `View Position (0018,5101) says "FROG": axial or frog-leg`},
		"from the side":          {[]el{cs(orientation, `A\F`)}, Sideways, ""},
		"side against position":  {[]el{cs(position, "AP"), cs(orientation, `A\F`)}, "", `View Position (0018,5101) says "AP", Patient Orientation (0020,0020) "A\\F"`},
		"across":                 {[]el{cs(orientation, `L\P`)}, Axial, `Patient Orientation (0020,0020) says "L\\P": axial or frog-leg`},
		"no directions":          {[]el{cs(orientation, `X\L`)}, "", ""},
		"a chest":                {[]el{cs(part, "CHEST"), cs(position, "PA")}, Frontal, `Body Part Examined (0018,0015) says "CHEST", neither hip nor pelvis`},
		"a knee by code":         {[]el{sq(region, codeOf("72696002", "SCT", "Knee"))}, "", `Anatomic Region Sequence (0008,2218) says "Knee SCT 72696002", neither hip nor pelvis`},
		"a hip by code":          {[]el{sq(region, codeOf("29836001", "SCT", "Articulatio coxae"))}, "", ""},
		"a leg with its hip":     {[]el{sq(region, codeOf("61685007", "SCT", "Lower limb")), cs(part, "HIP")}, "", ""},
	} {
		t.Run(name, func(t *testing.T) {
			f := scaled(t, c.els...)
			way, why := f.Projection()
			assert.Equal(t, c.way, way)
			if c.why == "" {
				assert.Nil(t, why)
			} else if assert.NotNil(t, why) {
				assert.Equal(t, c.why, why.Error())
			}
			assert.Empty(t, f.Warnings)
		})
	}
}

// A sequence of codes that is broken is left out, and the film is read.
func TestBrokenCodesAreLeftOut(t *testing.T) {
	broken := el{0x00540220, "SQ", []byte("\xFE\xFF\x00\xE0\x08\x00\x00\x00\x08\x00\x00\x01SH\xFF\x00")}
	f := scaled(t, text(0x00185101, "CS", "AP"), broken)
	way, why := f.Projection()
	assert.Equal(t, Frontal, way)
	assert.Nil(t, why)
	assert.Len(t, f.Warnings, 1)
	assert.True(t, strings.HasSuffix(f.Warnings[0].Error(), " in View Code Sequence (0054,0220): not used"), f.Warnings[0].Error())
}
