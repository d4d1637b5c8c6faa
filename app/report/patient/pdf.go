package patient

import (
	"io"
	"time"

	"linerwatch/app/report/paper"
	"linerwatch/app/study"
)

// Print says how a page is printed.
type Print struct {
	Size    paper.Size
	Clinic  string  // the clinic's own heading
	Whom    string  // whom to ask; the team that gave the page where empty
	PaceMM  float64 // distance for which a time is reckoned at the pace; 0 for none
	Date    time.Time
	Program string // name and version of the program
}

// The sizes of letters, points: the least is that of large print in forms.
const (
	textPoints  = 12
	leastLabel  = 12
	titlePoints = 19
	headPoints  = 14
)

// The heights between which drawing and course are made as high as there is room for, mm.
const leastFigure, mostFigure = 40, 78

// PDF writes the page, on one sheet where its words allow that.
func (p Page) PDF(w io.Writer, print Print) error {
	s := paper.New(paper.Options{Size: print.Size, Title: p.Title, Language: p.say.Code(), Date: print.Date, Points: textPoints, Margin: 13})
	p.head(s, print)
	blocks := p.blocks(print)
	figure := p.room(s, blocks, print)
	for i, b := range blocks {
		if i == 1 && figure > 0 {
			p.figures(s, figure)
		}
		write(s, b)
	}
	p.foot(s, print)
	return s.Write(w)
}

// head writes the clinic's heading, the date and the title.
func (p Page) head(s *paper.Sheet, print Print) {
	date := p.say.Say("patient.printed", study.Values{"Date": p.say.Day(print.Date)})
	small := paper.Style{Points: leastLabel}
	wide := s.Measure(small, date)
	s.Put(s.Left()+s.Width()-wide, s.Y()+4.4, small, date)
	h := s.Line(small)
	if print.Clinic != "" {
		h = s.Block(s.Left(), s.Y(), s.Width()-wide-6, paper.Style{Points: textPoints, Bold: true}, print.Clinic)
	}
	s.MoveTo(s.Y() + h + 1)
	s.Stroke(paper.Pen{Ink: paper.Grey, MM: 0.3}, paper.Point{X: s.Left(), Y: s.Y()}, paper.Point{X: s.Left() + s.Width(), Y: s.Y()})
	s.MoveTo(s.Y() + 2)
	s.TextIn(paper.Style{Points: titlePoints, Bold: true}, p.Title)
	for _, text := range p.First {
		st := paper.Style{Bold: true}
		h := s.Height(st, s.Width()-6, text)
		s.Box(paper.Pen{Ink: paper.Black, MM: 0.5}, s.Left(), s.Y(), s.Width(), h+3)
		s.Block(s.Left()+3, s.Y()+1.2, s.Width()-6, st, text)
		s.MoveTo(s.Y() + h + 5)
	}
}

// blocks are all words below the title.
func (p Page) blocks(print Print) []Block {
	out := append([]Block(nil), p.Told...)
	if pace := p.Pace(print.PaceMM); print.PaceMM > 0 && pace != "" {
		out = append(out, Block{p.say.Say("patient.pace.title", nil), []string{pace}})
	}
	limits := Block{p.Limits.Head, append([]string(nil), p.Limits.Text...)}
	limits.Text = append(limits.Text, p.say.Say("patient.ask", study.Values{"Whom": print.Whom}))
	return append(out, limits)
}

var headStyle = paper.Style{Points: headPoints, Bold: true}

func write(s *paper.Sheet, b Block) {
	if b.Head != "" {
		s.Space(1.4)
		s.TextIn(headStyle, b.Head)
	}
	for _, text := range b.Text {
		s.Text(text)
	}
}

// height is what write takes.
func height(s *paper.Sheet, b Block) float64 {
	h := 0.
	if b.Head != "" {
		h += 1.4 + s.Height(headStyle, s.Width(), b.Head) + 0.22*s.Line(headStyle)
	}
	for _, text := range b.Text {
		h += s.Height(paper.Style{}, s.Width(), text) + 0.22*s.Line(paper.Style{})
	}
	return h
}

// room is the height that is left on the sheet for drawing and course; 0 where there are
// none.
func (p Page) room(s *paper.Sheet, blocks []Block, print Print) float64 {
	if p.hip.Err != nil {
		return 0
	}
	used := s.Y() + s.Height(footStyle, s.Width(), print.Program) + 1
	for _, b := range blocks {
		used += height(s, b)
	}
	under, _ := p.captions(s)
	return min(max(s.Bottom()-used-under-4, leastFigure), mostFigure)
}

var footStyle = paper.Style{Points: 8, Ink: paper.Grey}

func (p Page) foot(s *paper.Sheet, print Print) {
	h := s.Height(footStyle, s.Width(), print.Program)
	s.Block(s.Left(), s.Bottom()-h, s.Width(), footStyle, print.Program)
}

// apart is the room between drawing and course, mm.
const apart = 6

// captions returns the height of the captions and the width of each.
func (p Page) captions(s *paper.Sheet) (high, wide float64) {
	wide = (s.Width() - apart) / 2
	return max(s.Height(captionStyle, wide, p.UnderDrawing(InBlack)), s.Height(captionStyle, wide, p.UnderCourse(InBlack))), wide
}

var captionStyle = paper.Style{Points: leastLabel}

// figures draws the drawing beside the course, each above its caption.
func (p Page) figures(s *paper.Sheet, high float64) {
	under, wide := p.captions(s)
	s.Need(high + under)
	y := s.Y() + 1
	p.draw(s, s.Left(), y, wide, high)
	p.course(s, s.Left()+wide+apart, y, wide, high)
	s.Block(s.Left(), y+high+1, wide, captionStyle, p.UnderDrawing(InBlack))
	s.Block(s.Left()+wide+apart, y+high+1, wide, captionStyle, p.UnderCourse(InBlack))
	s.MoveTo(y + high + under + 2)
}
