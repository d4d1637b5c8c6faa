package dicomio

import (
	"encoding/binary"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// decodeDICOM makes a film of one frame, counted from 1, of a DICOM file. It may
// write into b and keep it.
func decodeDICOM(b []byte, frame int, hashed *hashing) (*Film, error) {
	h, err := parseHeader(b, len(b))
	if err != nil {
		return nil, err
	}
	h.hashed = hashed
	return h.frame(frame)
}

// frame makes a film of one frame. Of several, those of a deflated file are to be
// taken in their order.
func (h *header) frame(frame int) (*Film, error) {
	f, l, err := h.film(frame)
	if err != nil {
		return nil, err
	}
	if !h.syntax.native {
		return f, h.decompress(f, l, frame)
	}
	part, err := h.native(l, frame)
	if err != nil {
		return nil, err
	}
	if left := h.size - h.pixels.value; h.rest == nil && uint64(h.pixels.n) > uint64(left) {
		f.warn("tag.bytes-left", "the pixel data states %d bytes, %d are left: all that the picture needs is there", "Bytes", h.pixels.n, "Left", left)
	}
	if l.allocated == 8 && h.pixels.vr == "OW" && h.order == binary.BigEndian {
		part = swapped(part) // pairs of pixels make the words (PS3.5 section 8.1.1)
	}
	if h.hashed != nil && l.plain() && h.order == binary.LittleEndian && h.rest == nil && !f.mirrored() {
		f.follow(l, part, h.pixels.value, h.hashed.upTo)
		return f, nil
	}
	if h.hashed != nil {
		h.hashed.wait()
	}
	if l.colour.kind != "" {
		f.warnGrey()
		f.Pixels, err = l.luma(part)
		return f, err
	}
	f.Pixels = l.grey(part, h.order, l.flip(f))
	l.look(f)
	return f, nil
}

// inspectDICOM reads the header of a file of size bytes that begins with b.
func inspectDICOM(b []byte, size int) (*Film, error) {
	h, err := parseHeader(b, size)
	if err != nil {
		return nil, err
	}
	f, _, err := h.film(1)
	return f, err
}

// film fills a film from the header, all but its pixels, with what holds for one frame,
// counted from 1.
func (h *header) film(frame int) (*Film, layout, error) {
	f := &Film{Format: "DICOM", TransferSyntax: h.uid}
	l, err := h.layout()
	if err != nil {
		return nil, l, err
	}
	if frame < 1 || frame > l.frames {
		return nil, l, refused("read.no-frame", "no frame %d of %d", "Frame", frame, "Frames", l.frames)
	}
	f.Rows, f.Columns, f.Frames, f.Frame = l.rows, l.columns, l.frames, frame
	h.groups(f, frame)
	if f.moving = l.frames > 1 && h.moving(); f.moving {
		f.warn("frames.moving", "%d frames of a moving picture or of slices: of them, frame %d is read", "N", l.frames, "Frame", frame)
	}
	f.Lossy = h.str(tag.LossyImageCompression) == "01"
	f.Bits, f.Signed, f.Photometric = l.bits, l.signed, l.photometric
	if l.palette != nil {
		f.Bits = l.palette.Bits
	}
	f.Allocated, f.HighBit = l.allocated, l.shift+l.bits-1
	for _, set := range h.sets {
		f.CharacterSets = append(f.CharacterSets, printable(set))
	}
	f.Modality = printable(h.str(tag.Modality))
	f.PatientCode = printable(h.str(tag.PatientID))
	f.View = printable(h.str(tag.ViewPosition))
	f.Laterality = h.laterality()
	f.BurnedIn = printable(h.str(tag.BurnedInAnnotation))
	if o := h.strs(tag.PatientOrientation); len(o) == 2 {
		f.Orientation = [2]string{printable(o[0]), printable(o[1])}
	}
	h.views(f)
	h.date(f)
	f.Warnings = append(f.Warnings, h.left...)
	h.geometry(f)
	h.field(f)
	f.told(h.mended)
	return f, l, h.greys(f)
}

func (h *header) laterality() string {
	for _, t := range []tag.Tag{tag.FrameLaterality, tag.ImageLaterality, tag.Laterality} {
		if s := h.str(t); s == "R" || s == "L" {
			return s
		}
	}
	return ""
}

// date reads every date; the first usable one is the film's.
func (h *header) date(f *Film) {
	for _, d := range []struct {
		t      tag.Tag
		source string
	}{
		{tag.AcquisitionDate, "acquisition"},
		{tag.AcquisitionDateTime, "acquisition"},
		{tag.StudyDate, "study"},
		{tag.ContentDate, "content"},
	} {
		s := h.str(d.t)
		if s == "" {
			continue
		}
		when, err := day(s)
		if err != nil {
			f.warn("tag.no-date", "%s is %q, not a date", "Element", name(d.t), "Value", printable(s))
			continue
		}
		if n := len(f.Dates); n == 0 || f.Dates[n-1].Source != d.source {
			f.Dates = append(f.Dates, Dated{when, d.source})
		}
	}
	f.moved = h.str(tag.LongitudinalTemporalInformationModified) == "MODIFIED"
	f.dated()
}

func (f *Film) dated() {
	f.Date, f.DateSource = time.Time{}, ""
	if len(f.Dates) > 0 {
		f.Date, f.DateSource = f.Dates[0].Date, f.Dates[0].Source
	}
}

// NotAfter leaves out dates that are yet to come at now, by more than a day: clocks stand in
// other zones. Where the file says that its dates were moved to hide them they may be any.
func (f *Film) NotAfter(now time.Time) {
	f.Dates = slices.DeleteFunc(slices.Clone(f.Dates), func(d Dated) bool {
		if f.moved || !d.Date.After(now.AddDate(0, 0, 1)) {
			return false
		}
		f.warn("tag.future", "the %s date is %s, which is yet to come: not used", "Source", d.Source, "Date", d.Date.Format(time.DateOnly))
		return true
	})
	f.dated()
}

// day reads YYYYMMDD, the older YYYY.MM.DD, or the beginning of a date and time
// (PS3.5 table 6.2-1).
func day(s string) (time.Time, error) {
	if len(s) >= 10 && s[4] == '.' && s[7] == '.' {
		return time.Parse("2006.01.02", s[:10])
	}
	return time.Parse("20060102", s[:min(len(s), 8)])
}

func (h *header) geometry(f *Film) {
	g := &f.Geometry
	g.Imager = h.pair(f, tag.ImagerPixelSpacing)
	g.Pixel = h.pair(f, tag.PixelSpacing)
	g.Scan = h.pair(f, tag.NominalScannedPixelSpacing)
	g.Ratio = h.pair(f, tag.PixelAspectRatio)
	g.SourceImage = h.length(f, tag.DistanceSourceToDetector)
	g.SourcePatient = h.length(f, tag.DistanceSourceToPatient)
	g.Magnification = h.length(f, tag.EstimatedRadiographicMagnificationFactor)
	switch kind := h.str(tag.PixelSpacingCalibrationType); kind {
	case "", "GEOMETRY", "FIDUCIAL":
		g.PixelKind = kind
	default:
		f.warn("tag.unknown", "%s is %q, which the standard does not know", "Element", name(tag.PixelSpacingCalibrationType), "Value", printable(kind))
	}
	f.weigh()
	f.warnAspect()
}

// warnAspect says that pixels are not square, and which statements of their
// shape contradict the one that counts.
func (f *Film) warnAspect() {
	if w := f.aspectWarning(); w != nil {
		f.Warnings = append(f.Warnings, w)
	}
	g := f.Geometry
	for _, other := range []struct {
		t    tag.Tag
		pair [2]float64
	}{{tag.ImagerPixelSpacing, g.Imager}, {tag.PixelSpacing, g.Pixel}, {tag.NominalScannedPixelSpacing, g.Scan}, {tag.PixelAspectRatio, g.Ratio}} {
		if !stated(other.pair) {
			continue
		}
		if a := other.pair[0] / other.pair[1]; math.Abs(a/g.Aspect()-1) > nearSquare {
			f.warn("tag.other-shape", "%s says that pixels are %.4g times as high as wide, the spacing in use %.4g: the latter counts", "Element", name(other.t), "Times", a, "Used", g.Aspect())
		}
	}
}

func (f *Film) aspectWarning() *Fault {
	switch _, k := f.oblong(); {
	case k == 1:
		return nil
	case !(k <= mostOblong):
		return tooOblong(k)
	}
	return refused("tag.not-square", "pixels are not square: row spacing over column spacing is %.4g", "Aspect", f.Geometry.Aspect())
}

// pair reads row and column spacing.
func (h *header) pair(f *Film, t tag.Tag) (p [2]float64) {
	s := h.strs(t)
	if len(s) == 0 || len(s) == 1 && s[0] == "" {
		return p
	}
	if len(s) == 2 {
		y, errY := asDecimal(s[0])
		x, errX := asDecimal(s[1])
		if errY == nil && errX == nil && usable(y) && usable(x) {
			f.long(t, s...)
			return [2]float64{y, x}
		}
	}
	f.warn("tag.two-lengths", "%s is %q, not two lengths", "Element", name(t), "Value", printable(strings.Join(s, "\\")))
	return p
}

// length reads one length or factor. Zero is a common way to leave it out.
func (h *header) length(f *Film, t tag.Tag) float64 {
	s := h.str(t)
	if s == "" {
		return 0
	}
	v, err := asDecimal(s)
	if err == nil && (v == 0 || usable(v)) {
		f.long(t, s)
		return v
	}
	f.warn("tag.not-positive", "%s is %q, not a positive number", "Element", name(t), "Value", printable(s))
	return 0
}

// warn adds what refused makes.
func (f *Film) warn(code, format string, values ...any) {
	f.Warnings = append(f.Warnings, refused(code, format, values...))
}
