package paper

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"time"

	"codeberg.org/go-fonts/dejavu/dejavusanscondensed"
	"codeberg.org/go-fonts/dejavu/dejavusanscondensedbold"
	"codeberg.org/go-pdf/fpdf"
)

// Size is a size of paper.
type Size string

// The sizes.
const (
	A4     Size = "a4"
	Letter Size = "letter"
)

// ParseSize returns the size of a word.
func ParseSize(s string) (Size, error) {
	switch Size(s) {
	case A4, Letter:
		return Size(s), nil
	}
	return "", fmt.Errorf("report: no paper %q: it is a4 or letter", s)
}

// Options say what sheets are made.
type Options struct {
	Size     Size      // A4 where empty
	Title    string    // of the file
	Language string    // its code, as "en"
	Date     time.Time // of the file
	Points   float64   // size of the text; 10 where 0
	Margin   float64   // mm; 16 where 0
	// Foot is what stands at the foot of each page beside its number; empty for neither.
	Foot string
	// Page says a page's number and how many there are.
	Page func(page, pages string) string
}

// Sheet is a document that is being written, from top to bottom. What does not fit goes to
// the next page.
type Sheet struct {
	pdf    *fpdf.Fpdf
	opt    Options
	y      float64 // where the next line begins
	indent float64
}

// family is the name of the font; it has a regular and a bold face. The library puts untagged
// before it in the file, where a subset has a tag of six capitals (ISO 32000-1, 9.6.4).
const (
	family   = "lw+body"
	untagged = "/utf8lw+body"
	tagged   = "/LINERW+body" // of the same length, as the file counts its bytes
)

// New begins a document with its first page.
func New(o Options) *Sheet {
	if o.Points == 0 {
		o.Points = 10
	}
	if o.Margin == 0 {
		o.Margin = 16
	}
	name := "A4"
	if o.Size == Letter {
		name = "Letter"
	}
	p := fpdf.New("P", "mm", name, "")
	s := &Sheet{pdf: p, opt: o}
	p.SetCatalogSort(true)
	p.SetCreationDate(o.Date.UTC())
	p.SetModificationDate(o.Date.UTC())
	p.SetTitle(clean(o.Title), true)
	p.SetCreator("Linerwatch", true)
	p.SetLang(o.Language)
	p.SetAutoPageBreak(false, 0)
	p.SetMargins(o.Margin, o.Margin, o.Margin)
	p.SetCellMargin(0)
	p.AddUTF8FontFromBytes(family, "", dejavusanscondensed.TTF)
	p.AddUTF8FontFromBytes(family, "B", dejavusanscondensedbold.TTF)
	p.AliasNbPages(pages)
	p.SetFooterFunc(s.foot)
	s.NewPage()
	return s
}

// pages stands for the number of pages until it is known.
const pages = "{nb}"

// NewPage begins a page.
func (s *Sheet) NewPage() {
	s.pdf.AddPage()
	s.y = s.opt.Margin
}

// Pages returns the number of pages so far.
func (s *Sheet) Pages() int { return s.pdf.PageCount() }

func (s *Sheet) foot() {
	if s.opt.Foot == "" {
		return
	}
	_, h := s.pdf.GetPageSize()
	s.Put(s.Left(), h-8, Style{Points: 7.5, Ink: Grey}, s.opt.Page(strconv.Itoa(s.pdf.PageNo()), pages)+" · "+s.opt.Foot)
}

// Left returns where the text begins.
func (s *Sheet) Left() float64 { return s.opt.Margin + s.indent }

// Width returns the width of the text.
func (s *Sheet) Width() float64 {
	w, _ := s.pdf.GetPageSize()
	return w - 2*s.opt.Margin - s.indent
}

// Bottom returns where the text has to end.
func (s *Sheet) Bottom() float64 {
	_, h := s.pdf.GetPageSize()
	return h - s.opt.Margin + 3
}

// Y returns where the next line begins.
func (s *Sheet) Y() float64 { return s.y }

// MoveTo has the next line begin at y.
func (s *Sheet) MoveTo(y float64) { s.y = y }

// Space leaves room of a height, none at the top of a page.
func (s *Sheet) Space(mm float64) {
	if s.y > s.opt.Margin {
		s.y += mm
	}
}

// Need begins a new page where a height does not fit any more.
func (s *Sheet) Need(mm float64) {
	if s.y+mm > s.Bottom() && s.y > s.opt.Margin {
		s.NewPage()
	}
}

// Write writes the document.
func (s *Sheet) Write(w io.Writer) error {
	var b bytes.Buffer
	if err := s.pdf.Output(&b); err != nil {
		return fmt.Errorf("report: PDF: %w", err)
	}
	_, err := w.Write(bytes.ReplaceAll(b.Bytes(), []byte(untagged), []byte(tagged)))
	return err
}
