package figure

import (
	"fmt"
	"strings"

	"linerwatch/app/findings"
	"linerwatch/app/study"
)

// drawFlow draws how hips and films come from one stage to the next, and who goes out where.
func drawFlow(s *sheet, in Input) (float64, []string, error) {
	f := in.Findings
	if len(f.HipFlow) == 0 || f.HipFlow[0].N+f.FilmFlow[0].N == 0 {
		return 0, nil, &NoneError{study.Note{Code: "figure.no-hips"}}
	}
	bold := lettering{size: style.Letters, bold: true, ink: style.Ink}
	down := 0.0
	wide := s.w
	flows, left := []findings.Flow{f.HipFlow, f.FilmFlow}, 0.0
	if s.w > 120*mm {
		wide = (s.w - 12) / 2
	}
	for i, title := range []string{s.say("figure.flow.hips"), s.say("figure.flow.films")} {
		top := 0.0
		if wide == s.w {
			top = down
		} else {
			left = float64(i) * (wide + 12)
		}
		s.text(bold, Point{left, top + style.Letters}, 0, title)
		down = max(down, s.flow(flows[i], left, top+style.Letters+5, wide)+8)
	}
	return down - 8, nil, nil
}

// flow draws one and returns how far down it came.
func (s *sheet) flow(f findings.Flow, left, top, w float64) float64 {
	const pad, gap = 3.5, 9.0
	l := plain(style.Small)
	line := style.Small * 1.3
	stage, out := w*0.44, w*0.50
	y := top
	for i, t := range f {
		lines := s.wrap(l, stage-2*pad, s.note(study.Note{Code: t.Key})+":", t.N)
		h := float64(len(lines))*line + 2*pad
		s.frame(left, y, stage, h)
		s.lines(l, Point{left + pad, y + pad}, line, lines)
		y += h
		if i == len(f)-1 {
			break
		}
		var gone []string
		for _, o := range t.Out {
			gone = append(gone, s.wrap(l, out-2*pad, s.note(o.Why)+":", o.N)...)
		}
		room := gap
		if len(gone) > 0 {
			high := float64(len(gone))*line + 2*pad
			s.frame(left+w-out, y+gap/2, out, high)
			s.lines(l, Point{left + w - out + pad, y + gap/2 + pad}, line, gone)
			room = high + gap
			s.arrow(Point{left + stage/2, y + room/2}, Point{left + w - out, y + room/2})
		}
		s.arrow(Point{left + stage/2, y}, Point{left + stage/2, y + room})
		y += room
	}
	return y
}

func (s *sheet) frame(x, y, w, h float64) {
	s.stroke(style.Ink, style.Thin*1.5, nil, Point{x, y}, Point{x + w, y}, Point{x + w, y + h}, Point{x, y + h}, Point{x, y})
}

func (s *sheet) lines(l lettering, at Point, line float64, lines []string) {
	for i, text := range lines {
		s.text(l, Point{at.X, at.Y + float64(i)*line + l.size}, 0, text)
	}
}

// arrow draws one that goes right or down.
func (s *sheet) arrow(from, to Point) {
	s.stroke(style.Ink, style.Thin*1.5, nil, from, to)
	const d = 2.2
	if from.Y == to.Y {
		s.fill(style.Ink, to, Point{to.X - 2*d, to.Y - d}, Point{to.X - 2*d, to.Y + d})
		return
	}
	s.fill(style.Ink, to, Point{to.X - d, to.Y - 2*d}, Point{to.X + d, to.Y - 2*d})
}

// wrap breaks a text and the number after it, which stays on one line, into lines of a width.
func (s *sheet) wrap(l lettering, width float64, text string, n int) []string {
	return s.broken(l, width, text, fmt.Sprintf("n = %d", n))
}

// broken breaks a text, and words after it that stay together, into lines of a width.
func (s *sheet) broken(l lettering, width float64, text string, after ...string) []string {
	var lines []string
	line := ""
	for _, word := range append(strings.Fields(clean(text)), after...) {
		word = s.short(l, word, width)
		if joined := strings.TrimSpace(line + " " + word); s.width(l, joined) <= width {
			line = joined
			continue
		}
		lines = append(lines, line)
		line = word
	}
	return append(lines, line)
}
